/** An amount as a setup writes it: number, unit, spread, and how well it is known. */

export interface Amount {
  number: string;
  unit: string;
  /** Spread as written behind +-, or "". */
  spread: string;
  known: "measured" | "guessed" | "";
}

const SHAPE = /^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?)\s*(.*?)\s*$/i;

/** Take an amount apart; null if the text does not begin with a number. */
export function parsed(text: string): Amount | null {
  let rest = text.trim();
  let known: Amount["known"] = "";
  const word = /\s+(measured|guessed)$/.exec(rest);
  if (word) {
    known = word[1] as Amount["known"];
    rest = rest.slice(0, word.index);
  }
  const [first = "", spread = ""] = rest.split(/\s*\+-\s*/);
  const found = SHAPE.exec(first);
  return found ? { number: found[1] ?? "", unit: found[2] ?? "", spread, known } : null;
}

/** Put an amount together again. */
export function joined(amount: Amount): string {
  const value = [amount.number, amount.unit].filter(Boolean).join(" ");
  return [value, amount.spread && `+- ${amount.spread}`, amount.known].filter(Boolean).join(" ");
}
