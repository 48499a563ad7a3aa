// Dates in a code, as planning/codes/dates.py reads them. A day is {year, month, day}; nothing here reads the clock.

const MONTHS = [
  "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
  "December",
];
export const LIKELY_YEARS = 10;

function daysIn(year, month) {
  if (month === 2) {
    return (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0 ? 29 : 28;
  }
  return [4, 6, 9, 11].includes(month) ? 30 : 31;
}

function fullYear(twoDigits, currentYear) {
  const century = currentYear - (currentYear % 100);
  const distance = twoDigits - (currentYear % 100);
  if (distance > 50) {
    return century - 100 + twoDigits;
  }
  return distance < -49 ? century + 100 + twoDigits : century + twoDigits;
}

const order = ({ year, month, day }) => year * 10000 + month * 100 + day;

export const isBefore = (one, other) => order(one) < order(other);

// {year, month, day, monthOnly} that YYMMDD means when read today; null if it is no day of the calendar.
export function readDate(digits, today) {
  if (!/^[0-9]{6}$/.test(digits)) {
    return null;
  }
  const [twoDigits, month, day] = [0, 2, 4].map((start) => Number(digits.slice(start, start + 2)));
  const year = fullYear(twoDigits, today.year);
  if (year < 1 || year > 9999 || month < 1 || month > 12 || day > daysIn(year, month)) {
    return null;
  }
  return { year, month, day: day || daysIn(year, month), monthOnly: day === 0 };
}

// "14:30", or null if the four digits are no time of day.
export function readTime(digits) {
  const [hour, minute] = [digits.slice(0, 2), digits.slice(2)];
  return Number(hour) < 24 && Number(minute) < 60 ? `${hour}:${minute}` : null;
}

export function isLikely(day, today) {
  const earliest = { ...today, year: today.year - LIKELY_YEARS };
  const latest = { ...today, year: today.year + LIKELY_YEARS };
  return !isBefore(day, earliest) && !isBefore(latest, day);
}

// 28 February 2027
export const written = ({ year, month, day }) => `${day} ${MONTHS[month - 1]} ${year}`;

// 2027-02-28
export const isoDate = ({ year, month, day }) =>
  `${String(year).padStart(4, "0")}-${String(month).padStart(2, "0")}-${String(day).padStart(2, "0")}`;

export function fromIso(text) {
  const [year, month, day] = text.split("-").map(Number);
  return { year, month, day };
}
