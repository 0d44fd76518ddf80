import { describe, expect, it } from "vitest";
import { diameterOf, fromAbove, meanChord, outlineOf, section } from "./aeroplane";
import { read, valueAt } from "./yaml";

const EXAMPLES = import.meta.glob<string>("../../../examples/*.yaml", { query: "?raw", import: "default", eager: true });
const shape = (name: string, margin: number | null = null) => {
  const { tree } = read(Object.entries(EXAMPLES).find(([file]) => file.includes(name))![1]);
  return outlineOf((path) => valueAt(tree, path), margin)!;
};
/** Area within a closed line of points: the shoelace formula. */
const area = (points: readonly (readonly [number, number])[]): number =>
  Math.abs(points.reduce((sum, [x, y], i) => sum + x * points[(i + 1) % points.length]![1] - points[(i + 1) % points.length]![0] * y, 0)) / 2;

describe("the outline", () => {
  // The heads of the examples give their mean chords; the cards give their areas.
  it.each([
    ["a-sparrow", 0.226, 0.21],
    ["b-kestrel", 0.32, 0.42],
    ["c-trainer", 0.207, 0.29],
    ["d-line", 0.303, 0.56],
    ["e-looks", 0.267, 0.285],
  ])("%s has the area of its card", (name, chord, square) => {
    const one = shape(name);
    expect(Math.abs(meanChord(one.root, one.tip) / chord - 1)).toBeLessThan(0.004);
    expect(Math.abs(area(fromAbove(one).wing) / square - 1)).toBeLessThan(0.01);
  });

  it("puts the disc behind the hand of a pusher and ahead of that of a tractor", () => {
    expect(shape("b-kestrel").propeller!.at).toBeCloseTo(0.203 + 0.36, 6);
    expect(shape("c-trainer").propeller!.at).toBeCloseTo(0.0725 - 0.3, 6);
    expect(shape("c-trainer").tail!.at + shape("c-trainer").tail!.chord / 4).toBeCloseTo(0.0725 + 0.65, 6);
  });

  it("puts the neutral point behind the balance point by the margin", () => {
    const one = shape("b-kestrel", 0.08);
    expect(one.neutral! - one.balance!).toBeCloseTo(0.08 * meanChord(0.4, 0.222), 9);
    expect(shape("b-kestrel").neutral).toBeCloseTo(0.229, 9);
  });

  it("is not drawn without span and chords", () => {
    expect(outlineOf(() => undefined)).toBeNull();
    expect(outlineOf((path) => (path.endsWith("span") ? "wide" : "1 m"))).toBeNull();
  });

  it("reads sizes of propellers", () => {
    expect(diameterOf("9x6 in")).toBeCloseTo(0.2286, 9);
    expect(diameterOf("10 x 4.5")).toBeCloseTo(0.254, 9);
    expect(diameterOf("nine")).toBeNull();
  });

  it("draws a section as thick as it is", () => {
    const points = section(1, 0.12);
    expect(2 * Math.max(...points.map(([, z]) => z))).toBeCloseTo(0.12, 3);
  });
});
