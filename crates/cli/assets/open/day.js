// Days as the program says them.

const MONTHS = [
  "January", "February", "March", "April", "May", "June",
  "July", "August", "September", "October", "November", "December",
];
/** What the program calls the days of visits. */
let labels = new Map();
/** Whether it says the month first, as in `Apr 14, 2025`. */
let isMonthFirst = false;

/** Takes how the program says the days of these visits. */
export function nameDays(visits) {
  labels = new Map(visits.filter(({ day, last_day: last, label }) => label && (!last || last === day)).map(({ day, label }) => [day, label]));
  isMonthFirst = visits.some(({ label }) => /^\p{L}/u.test(label ?? ""));
}

/** `2025-04-14` as its day. */
export function dayInWords(day) {
  if (labels.has(day)) return labels.get(day);
  const parts = /^(\d{4})-(\d{2})-(\d{2})$/.exec(day ?? "");
  const month = parts && MONTHS[Number(parts[2]) - 1];
  if (!month) return String(day);
  const number = Number(parts[3]);
  return isMonthFirst ? `${month.slice(0, 3)} ${number}, ${parts[1]}` : `${number} ${month} ${parts[1]}`;
}

/** A text with its days in words; those in names of files stay. */
export const textInWords = (text) => text.replace(/(^|\s)(\d{4}-\d{2}-\d{2})(?=$|[\s,;:)])/g, (_, before, day) => before + dayInWords(day));

/** A visit as the program says its day or days. */
export function visitInWords({ day, last_day: last, label }) {
  if (label) return label;
  return !last || last === day ? dayInWords(day) : `${dayInWords(day)} to ${dayInWords(last)}`;
}
