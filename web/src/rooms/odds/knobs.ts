/** The settings and the day on sliders: which, how far they go, and how they are written. */
import { joined, parsed, type Amount } from "../../lib/amount";
import type { System } from "../../lib/state/taste.svelte";
import { figure, fromSi, isUnit, toSi, unitFor } from "../../lib/units";

/** One slider; values are in its unit, which is the user's. */
export interface Knob {
  path: string;
  label: string;
  unit: string;
  home: number;
  low: number;
  high: number;
  step: number;
  /** The amount as it stands in the setup, so that its spread and how well it is known stay. */
  written: Amount;
}

interface Wanted {
  path: string;
  label: string;
  /** The metric one. */
  unit: string;
  step: number;
  /** Its step where the user has another unit. */
  imperialStep?: number;
  /** The part of the card's range that is worth moving in, around the value that is there. */
  around: (home: number) => [number, number];
}

const WANTED: readonly Wanted[] = [
  { path: "settings.start_wait", label: "Start wait", unit: "s", step: 0.02, around: (v) => [0, Math.max(1.5, 2.5 * v)] },
  { path: "settings.throttle_rise", label: "Throttle rise", unit: "%/s", step: 5, around: (v) => [10, Math.max(300, 2 * v)] },
  { path: "settings.jerk_level", label: "Jerk level", unit: "m/s2", step: 0.5, imperialStep: 0.05, around: (v) => [2, Math.max(25, 1.5 * v)] },
  { path: "settings.jerk_dwell", label: "Jerk dwell", unit: "s", step: 0.01, around: (v) => [0, Math.max(0.3, 2 * v)] },
  { path: "settings.launch_ceiling", label: "Launch ceiling", unit: "%", step: 1, around: () => [40, 100] },
  { path: "settings.climb_pitch", label: "Climb pitch", unit: "deg", step: 1, around: (v) => [0, Math.max(35, v + 10)] },
  { path: "settings.handover_height", label: "Handover height", unit: "m", step: 1, imperialStep: 5, around: (v) => [10, Math.max(80, 2 * v)] },
  { path: "day.wind", label: "Wind", unit: "m/s", step: 0.25, imperialStep: 0.5, around: (v) => [Math.min(-3, v - 4), Math.max(10, v + 4)] },
  { path: "thrower.release_speed", label: "Throw speed", unit: "m/s", step: 0.1, imperialStep: 0.2, around: (v) => [0.6 * v, 1.4 * v] },
  { path: "line.stretch", label: "Stretch of the line", unit: "m", step: 0.1, imperialStep: 0.5, around: (v) => [0.5 * v, 1.5 * v] },
  { path: "airframe.mass", label: "Mass", unit: "kg", step: 0.01, imperialStep: 0.02, around: (v) => [0.75 * v, 1.35 * v] },
];

interface AmountRule {
  low: number;
  high: number;
}
interface CardRule {
  default?: string;
  "x-amount"?: AmountRule;
}
export interface CardsSchema {
  properties?: Record<string, { properties?: Record<string, CardRule> }>;
}

/** The steps that lie within two values. */
const within = (low: number, high: number, step: number): [low: number, high: number] => [
  Number((Math.ceil(low / step - 1e-9) * step).toFixed(6)),
  Number((Math.floor(high / step + 1e-9) * step).toFixed(6)),
];

/** The sliders of a setup: those whose value is a plain amount, with ranges that keep to the cards' own. */
export function knobsOf(schema: CardsSchema, valueOf: (path: string) => string, system: System): Knob[] {
  return WANTED.flatMap((want) => {
    const [card = "", key = ""] = want.path.split(".");
    const rule = schema.properties?.[card]?.properties?.[key];
    const range = rule?.["x-amount"];
    const written = parsed(valueOf(want.path) || rule?.default || "");
    if (!range || !written || !(isUnit(written.unit) || written.unit === "")) return [];
    const { path, label } = want;
    const unit = unitFor(want.unit, system);
    const step = unit === want.unit ? want.step : (want.imperialStep ?? want.step);
    const si = toSi(Number(written.number), written.unit || want.unit);
    const [from, to] = want.around(fromSi(si, want.unit)).map((value) => toSi(value, want.unit)) as [number, number];
    const [low, high] = within(fromSi(Math.max(from, range.low), unit), fromSi(Math.min(to, range.high), unit), step);
    // As short as it is written: 8.5 m/s, not 8.499999.
    return [{ path, label, unit, home: Number(fromSi(si, unit).toPrecision(12)), step, written: { ...written, unit: written.unit || want.unit }, low, high }];
  });
}

/** A value of a slider as the setup writes it: spread and "measured" or "guessed" stay. */
export function asText(knob: Knob, value: number): string {
  const number = figure(value, 6).replace("−", "-");
  return joined({ ...knob.written, number, unit: knob.unit, spread: spreadIn(knob) });
}

/** A spread in percent goes with any unit; one in the unit of the value is kept in its own. */
function spreadIn(knob: Knob): string {
  const { spread, unit } = knob.written;
  return !spread || /[%a-z]/i.test(spread) ? spread : `${spread} ${unit || knob.unit}`;
}
