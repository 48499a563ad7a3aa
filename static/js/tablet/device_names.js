// Held while a charting screen is open, so that the sign-in page in another tab leaves its data alone.
export function openName(user) {
  return `charting-open-${user}`;
}
