// Dates and times as the rest of the tool writes them: "3 Jan 2027", "14:05", in the tablet's own time zone.

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

// A day without a time, "2027-01-03": read as it stands, for a time zone would turn it into the day before.
export function shortDay(day) {
  const [year, month, date] = day.slice(0, 10).split("-").map(Number);
  return `${date} ${MONTHS[month - 1]} ${year}`;
}

export function shortDate(moment) {
  const at = new Date(moment);
  return `${at.getDate()} ${MONTHS[at.getMonth()]} ${at.getFullYear()}`;
}

export function clockTime(moment) {
  const at = new Date(moment);
  return `${String(at.getHours()).padStart(2, "0")}:${String(at.getMinutes()).padStart(2, "0")}`;
}

// The time, with the day before it unless that is today.
export function shortTime(moment, now = new Date()) {
  const isToday = new Date(moment).toDateString() === now.toDateString();
  return isToday ? clockTime(moment) : `${shortDate(moment)}, ${clockTime(moment)}`;
}

export function pluralOf(count, one, many = `${one}s`) {
  return `${count} ${count === 1 ? one : many}`;
}
