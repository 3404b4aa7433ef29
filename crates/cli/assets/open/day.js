// Days as people say them.

const MONTHS = [
  "January", "February", "March", "April", "May", "June",
  "July", "August", "September", "October", "November", "December",
];

/** `2025-04-14` as `14 April 2025`. */
export function dayInWords(day) {
  const parts = /^(\d{4})-(\d{2})-(\d{2})$/.exec(day ?? "");
  return parts ? `${Number(parts[3])} ${MONTHS[Number(parts[2]) - 1]} ${parts[1]}` : String(day);
}

/** A visit as the program says its day or days. */
export function visitInWords({ day, last_day: last, label }) {
  if (label) return label;
  return !last || last === day ? dayInWords(day) : `${dayInWords(day)} to ${dayInWords(last)}`;
}
