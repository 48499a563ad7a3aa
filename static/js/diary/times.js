// Rows of five minutes since midnight, as planning/diary_grid.py counts them. Pure.

export const ROW_MINUTES = 5;
export const ROWS_A_DAY = (24 * 60) / ROW_MINUTES;

export function clockOf(row) {
  const minutes = row * ROW_MINUTES;
  return [Math.floor(minutes / 60), minutes % 60].map((part) => String(part).padStart(2, "0")).join(":");
}

export function rowOf(clock) {
  const [hours, minutes] = clock.split(":").map(Number);
  return (hours * 60 + minutes) / ROW_MINUTES;
}

// The nearest row on a mark of `step` rows at which `count` rows still fit between `first` and `end`.
export function fitting(row, { step = 1, count = 1, first = 0, end = ROWS_A_DAY } = {}) {
  const latest = Math.max(first, end - count);
  return Math.min(Math.max(Math.round(row / step) * step, first), latest);
}
