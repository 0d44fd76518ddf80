/** Sentences and amounts of the server, which are written in metric units, in the units of a system. */
import type { System } from "./state/taste.svelte";
import { fromSi, neat, pretty, toSi, unitFor } from "./units";

/** Figures beside a sentence as the server has them: SI, with the unit at the end of each name. */
export type Figures = Readonly<Record<string, number>>;

/** Units that sentences write otherwise than lib/units names them. */
const WRITTEN: Record<string, string> = { "m/s²": "m/s2", "m²": "m2", "dm²": "dm2", "cm²": "cm2", "°C": "C" };
const NUMBER = String.raw`[-+−]?\d+(?:,\d{3})*(?:\.\d+)?`;
// The longest first, and nothing of a unit behind it: "m" is not found in "mm" nor in "m/s".
const METRIC = String.raw`m/s²|m/s2|km/h|m/s|N/m|dm²|dm2|cm²|cm2|m²|m2|mm|cm|kg|hPa|°C|m|g|N|C`;
const BETWEEN = String.raw`(?: to | of |–| ?± ?| ?\+- ?)`;
const AMOUNT = new RegExp(String.raw`(?<![\w.,+])(± ?|\+- ?)?(${NUMBER}(?:${BETWEEN}${NUMBER})*)([ \u00a0])(${METRIC})(?![\w/²°%])`, "g");
const FIGURE = new RegExp(String.raw`(±|\+-)?( ?)(${NUMBER})`, "g");
/** How the names of figures end, by the units that sentences write. */
const ENDINGS: Record<string, string> = { mm: "_m", cm: "_m", m: "_m", "m/s": "_mps", "km/h": "_mps", "m/s2": "_mps2", N: "_n", g: "_kg", kg: "_kg" };

/** The worth of the last figure that is written: 0.1 of "12.3", 1 of "12". */
const lastOf = (number: string): number => 10 ** -(number.split(".")[1]?.length ?? 0);
/** So much of one unit in another, without what lies between their noughts. */
const width = (value: number, unit: string, mine: string): number => (value * (toSi(1, unit) - toSi(0, unit))) / (toSi(1, mine) - toSi(0, mine));

/** To what figures are rounded, the coarsest last; halves are written as such, for they claim no tenths. */
const STEPS = [1e-4, 1e-3, 0.01, 0.1, 0.5, 1, 5, 10, 50, 100];
/** A rounding may move a figure by so much of itself, or by so much of the last place that was written. */
const [OF_ITSELF, OF_THE_LAST] = [0.05, 0.25];

interface Figure {
  value: number;
  /** Worth of the last place that was written, in the unit that is shown. */
  last: number;
  /** Whether the server gave the figure itself: then it is as fine as the text was, else the text is all that is known. */
  exact: boolean;
}

const rounded = (value: number, step: number): number => Math.round(value / step) * step;

/** The step at which a figure claims no more than its text did, and is still that figure. */
function stepOf({ value, last, exact }: Figure): number {
  if (exact) return STEPS.findLast((step) => step <= last * 1.13 && step !== 0.5) ?? STEPS[0]!;
  let at = STEPS.findIndex((step) => step >= 0.475 * last);
  if (at < 0) at = STEPS.length - 1;
  const most = Math.max(OF_THE_LAST * last, OF_ITSELF * Math.abs(value));
  while (at > 0 && Math.abs(rounded(value, STEPS[at]!) - value) > most) at--;
  return STEPS[at]!;
}

function written(value: number, step: number): string {
  const size = Math.abs(rounded(value, step));
  const sign = value < 0 && size > 0 ? "−" : "";
  if (step !== 0.5) return sign + size.toFixed(Math.max(0, -Math.floor(Math.log10(step) + 1e-9)));
  const whole = Math.floor(size);
  return `${sign}${whole || size === whole ? whole : ""}${size > whole ? "½" : ""}`;
}

/** The figure beside the sentence that was written as such a number; null if none is, or several are. */
function beside(given: number, number: string, unit: string, figures: Figures): number | null {
  const ending = ENDINGS[unit];
  if (!ending) return null;
  const [si, half] = [Math.abs(toSi(given, unit)), toSi(lastOf(number), unit) / 2];
  const found = Object.entries(figures).filter(([name, value]) => name.endsWith(ending) && Math.abs(Math.abs(value) - si) <= half * 1.001);
  const values = new Set(found.map(([, value]) => Math.abs(value)));
  return values.size === 1 ? Math.sign(given) * [...values][0]! : null;
}

function figureOf(number: string, unit: string, mine: string, isSpread: boolean, figures: Figures): Figure {
  const given = Number(number.replaceAll(",", "").replace("−", "-"));
  const last = width(lastOf(number), unit, mine);
  const known = isSpread ? null : beside(given, number, unit, figures);
  if (known !== null) return { value: fromSi(known, mine), last, exact: true };
  return { value: isSpread ? width(given, unit, mine) : fromSi(toSi(given, unit), mine), last, exact: false };
}

/**
 * A text with its metric figures in the units of a system. A figure that stands beside the sentence is taken from there;
 * any other is rounded so that it claims no more than the text did.
 */
export function inSystem(text: string, system: System, figures: Figures = {}): string {
  if (system === "metric") return neat(text);
  const mended = text.replace(AMOUNT, (whole: string, spread: string | undefined, numbers: string, space: string, unit_: string) => {
    const unit = WRITTEN[unit_] ?? unit_;
    const mine = unitFor(unit, system);
    if (mine === unit) return whole;
    const all = [...numbers.matchAll(FIGURE)].map(([, mark = "", , number = ""]) => figureOf(number, unit, mine, Boolean(mark || spread), figures));
    const step = Math.min(...all.map(stepOf));
    let i = 0;
    const parts = numbers.replace(FIGURE, (_: string, mark = "", gap: string, number: string) => {
      const { value } = all[i++]!;
      return mark + gap + (number.startsWith("+") && value > 0 ? "+" : "") + written(value, step);
    });
    return `${spread ?? ""}${parts}${space}${pretty(mine)}`;
  });
  return neat(mended);
}
