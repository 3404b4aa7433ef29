// Lengths, depths and areas in the user's units, as flags write them: `30ft`, `0.25ac`.

const FACTORS = {
  mm: 0.001, cm: 0.01, m: 1, in: 0.0254, ft: 0.3048,
  m2: 1, ha: 10000, ac: 4046.8564224,
};
const WORDS = { ft: "ft", m: "m", in: "in", cm: "cm", ac: "ac", ha: "ha" };

/** Unit of a kind of quantity: `length` (of machines), `depth` or `area`. */
export function unitOf(kind, system) {
  const units = { length: ["ft", "m"], depth: ["in", "cm"], area: ["ac", "ha"] }[kind];
  return WORDS[units[system === "si" ? 1 : 0]];
}

/** The number of a flag's value in this unit, or "" where there is none. */
export function numberOf(text, unit) {
  const parts = /^\s*(-?[\d.]+)\s*([a-z]+2?)\s*$/i.exec(text ?? "");
  if (!parts) return "";
  const [, number, from] = parts;
  if (from === unit) return number;
  if (!FACTORS[from]) return "";
  return String(Number(((Number(number) * FACTORS[from]) / FACTORS[unit]).toPrecision(6)));
}
