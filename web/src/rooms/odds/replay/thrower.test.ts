import { Vector3 } from "three";
import { describe, expect, it } from "vitest";
import type { Inks } from "./frame";
import { elbowOf, Thrower } from "./thrower";

describe("the arm", () => {
  // Two links and the distance of their ends: a triangle with these three sides.
  it.each([[0.2, 0.3, 0.1], [-0.3, 0.25, 0.2], [0.02, 0.1, 0], [0.1, 0.5, -0.1]])("bends so that both bones keep their lengths (%d, %d, %d)", (x, y, z) => {
    const [shoulder, hand] = [new Vector3(0, 1.4, 0), new Vector3(x, 1.4 + y, z)];
    const elbow = elbowOf(shoulder, hand, 0.3, 0.32);
    expect(elbow.distanceTo(shoulder)).toBeCloseTo(0.3, 9);
    expect(elbow.distanceTo(hand)).toBeCloseTo(0.32, 9);
  });

  it("holds what is flown, from the wind-up to the release", () => {
    const ink = "#222222";
    const one = new Thrower(1.9, { muted: ink } as Inks);
    for (const [ahead, right, up] of [[-1.31, -0.2, 1.74], [-0.79, -0.12, 1.77], [-0.35, -0.05, 1.79], [0, 0, 1.81]] as const) {
      one.hold(ahead, right, up);
      const fist = one.whole.children.at(-1)!.position;
      expect([-fist.z, fist.x, fist.y].map((value) => Number(value.toFixed(9)) + 0)).toEqual([ahead, right, up]);
      const [upper, fore] = one.whole.children.slice(5, 7).map((limb) => limb.scale.y);
      expect(upper! + fore!).toBeLessThan(0.34 * 1.9);
    }
  });
});
