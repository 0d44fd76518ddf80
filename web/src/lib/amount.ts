/** An amount as a setup writes it: number, unit, spread, and how well it is known. */
import { figure, fromSi, isUnit, toSi } from "./units";

export interface Amount {
  number: string;
  unit: string;
  /** Spread as written behind +-, or "". */
  spread: string;
  known: "measured" | "guessed" | "";
}

const SHAPE = /^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?)\s*(.*?)\s*$/i;
const WHOLE = /^(.*?)(?:\s*(?:\+-|\+\/-|±)\s*(.*?))?(?:\s+(measured|guessed|default))?\s*$/s;

/** Take an amount apart; null if the text does not begin with a number. */
export function parsed(text: string): Amount | null {
  const [, first = "", spread = "", word = ""] = WHOLE.exec(text) ?? [];
  const found = SHAPE.exec(first);
  const known = word === "measured" || word === "guessed" ? word : "";
  return found ? { number: found[1] ?? "", unit: spelled(found[2] ?? ""), spread: spread.trim(), known } : null;
}

/** An amount from what a setup has under a key: text, or the three keys value, spread and known. */
export function amountIn(value: unknown): Amount | null {
  if (typeof value === "string") return parsed(value);
  if (typeof value !== "object" || value === null || Array.isArray(value)) return null;
  const { value: first, spread = "", known = "" } = value as Record<string, unknown>;
  if (typeof first !== "string") return null;
  const found = parsed(first);
  if (!found) return null;
  const word = known === "measured" || known === "guessed" ? known : "";
  return { ...found, spread: typeof spread === "string" ? spread : "", known: word };
}

/** Put an amount together again. */
export function joined(amount: Amount): string {
  const value = [amount.number, amount.unit].filter(Boolean).join(" ");
  return [value, amount.spread && `+- ${amount.spread}`, amount.known].filter(Boolean).join(" ");
}

/** Figures of a number in another unit; three are as fine as most of what is measured. */
const [FEWEST, MOST] = [3, 9];

/** A number of one unit in another: in so few figures that it is still read back as the same number. */
export function inUnit(number: string, from: string, to: string): string {
  if (from === to || !isUnit(from) || !isUnit(to)) return number;
  const given = Number(number);
  const decimals = number.split(".")[1]?.length ?? 0;
  const value = fromSi(toSi(given, from), to);
  const written = (digits: number): string => figure(value, digits).replace("−", "-");
  const isSame = (text: string): boolean => fromSi(toSi(Number(text), to), from).toFixed(decimals) === given.toFixed(decimals);
  for (let digits = FEWEST; digits < MOST; digits++) if (isSame(written(digits))) return written(digits);
  return written(MOST);
}

const SPELLINGS: readonly (readonly [RegExp, string])[] = [
  [/²|\*\*2|\^2/g, "2"],
  [/Ω|\u2126/g, "ohm"],
  [/^° ?(?=[CF]$)/, ""],
  [/^(°|degrees?)$/, "deg"],
  [/^(kmh|kph)$/, "km/h"],
];

/** A unit as the tables of the pages have it. */
function spelled(unit: string): string {
  return SPELLINGS.reduce((text, [pattern, ours]) => text.replace(pattern, ours), unit);
}
