/** The outline of an aeroplane from the values of its cards; metres, x aft of the root leading edge, y right, z up. */
import { amountIn } from "./amount";
import { isUnit, toSi } from "./units";

export type Point = readonly [number, number];

export interface Outline {
  flyingWing: boolean;
  span: number;
  root: number;
  tip: number;
  sweep: number;
  dihedral: number;
  /** Thickness over chord; a tenth where the card does not say it. */
  thickness: number;
  /** Behind the root leading edge; null where it is not known. */
  balance: number | null;
  neutral: number | null;
  propeller: { diameter: number; words: string; pusher: boolean; at: number; above: number; tilt: number } | null;
  grip: number | null;
  tail: { at: number; chord: number; span: number } | null;
  fins: { at: number; chord: number; height: number; aside: number; above: number }[];
  body: { from: number; to: number; wide: number };
  from: number;
  to: number;
}

/** SI value of what stands under a key; null if it is no amount that can be read. */
export function siOf(value: unknown): number | null {
  const amount = amountIn(value);
  return amount && isUnit(amount.unit) ? toSi(Number(amount.number), amount.unit) : null;
}

/** Diameter of a propeller written as "9x6 in", in m; null if it is not. */
export function diameterOf(text: unknown): number | null {
  const found = typeof text === "string" ? /^\s*([\d.]+)\s*x\s*[\d.]+\s*(in|mm|cm|m)?\s*$/.exec(text) : null;
  const size = found ? toSi(Number(found[1]), found[2] ?? "in") : NaN;
  return Number.isFinite(size) ? size : null;
}

/** Mean aerodynamic chord of a tapered wing (McCormick, 1995). */
export const meanChord = (root: number, tip: number): number => (2 / 3) * (root + tip - (root * tip) / (root + tip));

const NO_THICKNESS_SAID = 0.1;

/**
 * The outline, or null while span and chords are not there. `of` gives what stands under a key or its default;
 * `margin` is the static margin as a share of the mean chord, from the server's check.
 */
export function outlineOf(of: (path: string) => unknown, margin: number | null = null): Outline | null {
  const si = (key: string, left = NaN): number => siOf(of(`airframe.${key}`)) ?? left;
  const [span, root, tip] = [si("span"), si("root_chord"), si("tip_chord")];
  if (!(span > 0 && root > 0 && tip > 0)) return null;
  const flyingWing = of("airframe.layout") !== "conventional";
  const known = (value: number): number | null => (Number.isFinite(value) ? value : null);
  const balance = known(si("balance_point"));
  const [sweep, dihedral] = [si("sweep", 0), si("dihedral", 0)];
  const propeller = propellerOf(of, balance, si("grip_to_disc"));
  const [tail, fins] = tailOf(of, flyingWing, balance, { half: span / 2, sweep, dihedral });
  const computed = margin !== null && balance !== null ? balance + margin * meanChord(root, tip) : null;
  const ends = [root, tail ? tail.at + tail.chord : 0, ...fins.map((fin) => fin.at + fin.chord)];
  const body = {
    from: propeller && !propeller.pusher ? propeller.at : -0.22 * root,
    to: propeller?.pusher && flyingWing ? Math.max(propeller.at, 0.6 * root) : Math.max(...ends.slice(0, flyingWing ? 1 : 3)),
    wide: Math.min(0.12 * span, 0.34 * root),
  };
  const tipAt = (span / 2) * Math.tan(sweep);
  return {
    flyingWing, span, root, tip, sweep, dihedral, balance, propeller, tail, fins, body,
    thickness: si("section_thickness", NO_THICKNESS_SAID),
    neutral: computed ?? known(si("neutral_point")),
    grip: known(si("grip_to_disc")),
    from: Math.min(0, tipAt, body.from, propeller?.at ?? 0),
    to: Math.max(tipAt + tip, body.to, propeller?.at ?? 0, ...ends),
  }; // prettier-ignore
}

function propellerOf(of: (path: string) => unknown, balance: number | null, grip: number): Outline["propeller"] {
  const words = of("power.propeller");
  const diameter = diameterOf(words);
  if (diameter === null || balance === null || !Number.isFinite(grip)) return null;
  const pusher = of("power.position") !== "tractor";
  const [above, tilt] = [siOf(of("power.thrust_line_height")) ?? 0, siOf(of("power.thrust_line_tilt")) ?? 0];
  return { diameter, words: String(words), pusher, at: balance + (pusher ? grip : -grip), above, tilt };
}

function tailOf(
  of: (path: string) => unknown,
  flyingWing: boolean,
  balance: number | null,
  wing: { half: number; sweep: number; dihedral: number },
): [Outline["tail"], Outline["fins"]] {
  const si = (key: string): number => siOf(of(`airframe.tail.${key}`)) ?? NaN;
  const [height, finChord] = [si("fin_height"), si("fin_area") / si("fin_height")];
  const [there, finned] = [of("airframe.tail") !== undefined, height > 0 && finChord > 0];
  if (flyingWing) {
    // Both fins stand at the tips and share the area.
    const fin = { at: wing.half * Math.tan(wing.sweep), chord: finChord / 2, height };
    const above = wing.half * Math.tan(wing.dihedral) - 0.3 * height;
    return [null, there && finned ? [-wing.half, wing.half].map((aside) => ({ ...fin, aside, above })) : []];
  }
  const [span, chord] = [si("span"), si("area") / si("span")];
  if (balance === null || !(span > 0 && chord > 0)) return [null, []];
  const quarter = balance + si("arm");
  const fin = { at: quarter - finChord / 4, chord: finChord, height, aside: 0, above: 0 };
  return [{ at: quarter - chord / 4, chord, span }, finned ? [fin] : []];
}

/** Wing, tail and body from above, as closed lines of points [y, x]. */
export function fromAbove(shape: Outline): { body: Point[]; wing: Point[]; tail: Point[] } {
  const half = shape.span / 2;
  const back = half * Math.tan(shape.sweep);
  const wing: Point[] = [[0, 0], [half, back], [half, back + shape.tip], [0, shape.root], [-half, back + shape.tip], [-half, back]]; // prettier-ignore
  const t = shape.tail;
  const tail: Point[] = t ? [[-t.span / 2, t.at], [t.span / 2, t.at], [t.span / 2, t.at + t.chord], [-t.span / 2, t.at + t.chord]] : []; // prettier-ignore
  const { from, to, wide } = shape.body;
  const [long, w] = [to - from, wide / 2];
  const end = shape.tail ? 0.2 : 0.4;
  const body: Point[] = [
    [0, from], [0.75 * w, from + 0.1 * long], [w, from + 0.3 * long], [0.85 * w, from + 0.6 * long], [end * w, to],
    [-end * w, to], [-0.85 * w, from + 0.6 * long], [-w, from + 0.3 * long], [-0.75 * w, from + 0.1 * long],
  ]; // prettier-ignore
  return { body, wing, tail };
}

/** A closed curve through points of a page (Catmull-Rom, as cubic pieces of an SVG path). */
export function smooth(points: readonly Point[]): string {
  const at = (i: number): Point => points[(i + points.length) % points.length]!;
  const near = ([ax, ay]: Point, [bx, by]: Point, [x, y]: Point): string => `${(x + (bx - ax) / 6).toFixed(4)} ${(y + (by - ay) / 6).toFixed(4)}`;
  const pieces = points.map((_, i) => `C${near(at(i - 1), at(i + 1), at(i))} ${near(at(i + 2), at(i), at(i + 1))} ${at(i + 1).join(" ")}`);
  return points.length ? `M${points[0]!.join(" ")}${pieces.join("")}Z` : "";
}

/** A section with its nose at [0, 0]: half a thickness above and below, thickest at three tenths. */
export function section(chord: number, thickness: number): Point[] {
  // Thickness of the four-digit sections with a closed tail (Abbott and von Doenhoff, 1959).
  const half = (x: number): number => 5 * thickness * (0.2969 * Math.sqrt(x) - 0.126 * x - 0.3516 * x ** 2 + 0.2843 * x ** 3 - 0.1036 * x ** 4);
  const stations = Array.from({ length: 21 }, (_, i) => (1 - Math.cos((Math.PI * i) / 20)) / 2);
  const upper = stations.map((x): Point => [x * chord, half(x) * chord]);
  const lower = stations.toReversed().map((x): Point => [x * chord, -half(x) * chord]);
  return [...upper, ...lower];
}
