/** Units on the screen. The server reads what is typed; this only shows SI figures in the user's units. */
import type { System } from "./state/taste.svelte";

/** SI of one unit, and what is added after that; sources as in src/overarm/units.py. */
const UNITS: Record<string, readonly [number, number?]> = {
  g: [1e-3], kg: [1], oz: [0.028349523125], lb: [0.45359237],
  mm: [1e-3], cm: [1e-2], m: [1], in: [0.0254], ft: [0.3048],
  cm2: [1e-4], dm2: [1e-2], m2: [1], in2: [0.0254 ** 2], ft2: [0.3048 ** 2],
  deg: [Math.PI / 180], rad: [1],
  ms: [1e-3], s: [1], min: [60],
  "m/s": [1], "km/h": [1 / 3.6], kt: [1852 / 3600], mph: [0.44704], "ft/s": [0.3048],
  "m/s2": [1], gee: [9.80665],
  "deg/s": [Math.PI / 180], "rad/s": [1],
  Hz: [1], "%/s": [0.01], "1/s": [1], "%": [0.01], "": [1],
  mohm: [1e-3], ohm: [1], A: [1], mA: [1e-3], V: [1], mAh: [1e-3], Ah: [1],
  "rpm/V": [(2 * Math.PI) / 60], rpm: [1],
  N: [1], gf: [9.80665e-3], kgf: [9.80665], ozf: [0.028349523125 * 9.80665], lbf: [4.4482216152605],
  "N/m": [1], "gf/m": [9.80665e-3], "lbf/ft": [4.4482216152605 / 0.3048],
  "kg m2": [1], "g cm2": [1e-7], C: [1, 273.15], K: [1], F: [5 / 9, 459.67 * (5 / 9)],
  hPa: [100], Pa: [1], bar: [1e5], inHg: [3386.389],
}; // prettier-ignore

/** What an imperial user reads in place of a metric unit. */
const IMPERIAL: Record<string, string> = {
  g: "oz", kg: "lb", mm: "in", cm: "in", m: "ft", cm2: "in2", dm2: "in2", m2: "ft2",
  "m/s": "mph", "km/h": "mph", "m/s2": "gee", N: "ozf", "N/m": "lbf/ft", C: "F", hPa: "inHg",
}; // prettier-ignore

/** The unit in which a user of a system reads what is usually given in `unit`. */
export function unitFor(unit: string, system: System): string {
  return system === "imperial" ? (IMPERIAL[unit] ?? unit) : unit;
}

/** SI to a unit. Throws for a unit that is not known. */
export function fromSi(value: number, unit: string): number {
  const known = UNITS[unit];
  if (!known) throw new RangeError(`no unit ${unit}`);
  return (value - (known[1] ?? 0)) / known[0];
}

/** A unit to SI. Throws for a unit that is not known. */
export function toSi(value: number, unit: string): number {
  const known = UNITS[unit];
  if (!known) throw new RangeError(`no unit ${unit}`);
  return value * known[0] + (known[1] ?? 0);
}

export const isUnit = (unit: string): boolean => unit in UNITS;

/** A number with so many significant digits, without an exponent and without trailing noughts. */
export function figure(value: number, digits = 3): string {
  if (!Number.isFinite(value)) return "–";
  if (value === 0) return "0";
  const places = Math.max(0, Math.min(8, digits - 1 - Math.floor(Math.log10(Math.abs(value)))));
  const text = value.toFixed(places);
  return (places ? text.replace(/\.?0+$/, "") : text).replace("-", "−");
}

const PRETTY: Record<string, string> = {
  deg: "°", "m/s2": "m/s²", m2: "m²", dm2: "dm²", cm2: "cm²", in2: "in²", ft2: "ft²", "kg m2": "kg m²",
  "g cm2": "g cm²", C: "°C", F: "°F", ohm: "Ω", mohm: "mΩ", "deg/s": "°/s", gee: "g",
}; // prettier-ignore

/** A unit as it is printed. */
export const pretty = (unit: string): string => PRETTY[unit] ?? unit;

/** An SI figure in a unit, with the unit behind it. */
export function shown(value: number, unit: string, system: System, digits = 3): string {
  const mine = unitFor(unit, system);
  const text = figure(fromSi(value, mine), digits);
  return mine === "" ? text : `${text}${mine === "deg" ? "" : "\u00a0"}${pretty(mine)}`;
}

/** A count as the commands write it: a comma between thousands. */
export const counted = (many: number): string => Math.round(many).toLocaleString("en");

/** A share as a percentage; with a decimal near the ends, or where a narrow interval asks for one. */
export function percent(share: number, decimals = share > 0.99 || (share < 0.01 && share > 0) ? 1 : 0): string {
  return `${(share * 100).toFixed(decimals)}\u00a0%`;
}

const UNIT = Object.keys({ ...UNITS, ...Object.fromEntries(Object.values(PRETTY).map((unit) => [unit, 0])) })
  .concat("Vs", "J", "W", "Wh", "dB", "points", "h", "kB", "MB")
  .filter(Boolean)
  .sort((a, b) => b.length - a.length)
  .join("|");
const BEFORE_UNIT = new RegExp(String.raw`(?<=[\d½]) (?=(?:${UNIT})(?![\p{L}\d/]))`, "gu");

/** A text in which no line ends between a figure and its unit, or its sign. */
export const unbroken = (text: string): string => text.replace(BEFORE_UNIT, "\u00a0").replace(/± (?=[\d½])/g, "±\u00a0");

/** An amount as it stands in a setup, with its unit as it is printed. */
export const neat = (text: string): string =>
  unbroken(text.replace(/(^|[\s(])-(?=\d)/g, "$1−").replace(/\b(m\/s|k?g m|[cd]?m|in|ft)2\b/g, "$1²").replace(/\+-/g, "±").replace(/(\d) deg\b/g, "$1°").replace(/(\d) ([CF])\b/g, "$1 °$2").replace(/\bmohm\b/g, "mΩ"));
