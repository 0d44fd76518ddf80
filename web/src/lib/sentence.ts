/** Sentences and amounts of the server, which are written in metric units, in the units of a system. */
import type { System } from "./state/taste.svelte";
import { fromSi, neat, pretty, toSi, unitFor } from "./units";

/** Units that sentences write otherwise than lib/units names them. */
const WRITTEN: Record<string, string> = { "m/s²": "m/s2", "m²": "m2", "dm²": "dm2", "cm²": "cm2", "°C": "C" };
const NUMBER = String.raw`[-+−]?\d+(?:,\d{3})*(?:\.\d+)?`;
// The longest first, and nothing of a unit behind it: "m" is not found in "mm" nor in "m/s".
const METRIC = String.raw`m/s²|m/s2|km/h|m/s|N/m|dm²|dm2|cm²|cm2|m²|m2|mm|cm|kg|hPa|°C|m|g|N|C`;
const BETWEEN = String.raw`(?: to | of |–| ?± ?| ?\+- ?)`;
const AMOUNT = new RegExp(String.raw`(?<![\w.,+])(± ?|\+- ?)?(${NUMBER}(?:${BETWEEN}${NUMBER})*)([ \u00a0])(${METRIC})(?![\w/²°%])`, "g");
const FIGURE = new RegExp(String.raw`(±|\+-)?( ?)(${NUMBER})`, "g");

/** The worth of the last figure that is written: 0.1 of "12.3", 1 of "12". */
const lastOf = (number: string): number => 10 ** -(number.split(".")[1]?.length ?? 0);
/** So much of one unit in another, without what lies between their noughts. */
const width = (value: number, unit: string, mine: string): number => (value * (toSi(1, unit) - toSi(0, unit))) / (toSi(1, mine) - toSi(0, mine));

function converted(number: string, unit: string, mine: string, isSpread: boolean): string {
  const given = Number(number.replaceAll(",", "").replace("−", "-"));
  const value = isSpread ? width(given, unit, mine) : fromSi(toSi(given, unit), mine);
  const text = value.toFixed(Math.max(0, Math.ceil(-Math.log10(width(lastOf(number), unit, mine)) - 0.05)));
  const sign = number.startsWith("+") && value > 0 ? "+" : "";
  return sign + (Number(text) === 0 ? text.replace("-", "") : text.replace("-", "−"));
}

/** A text with its metric figures in the units of a system, each as fine as it is written and no finer. */
export function inSystem(text: string, system: System): string {
  if (system === "metric") return neat(text);
  const mended = text.replace(AMOUNT, (whole: string, spread: string | undefined, numbers: string, space: string, written: string) => {
    const unit = WRITTEN[written] ?? written;
    const mine = unitFor(unit, system);
    if (mine === unit) return whole;
    const parts = numbers.replace(FIGURE, (_: string, mark = "", gap: string, number: string) =>
      mark + gap + converted(number, unit, mine, Boolean(mark || spread)),
    );
    return `${spread ?? ""}${parts}${space}${pretty(mine)}`;
  });
  return neat(mended);
}
