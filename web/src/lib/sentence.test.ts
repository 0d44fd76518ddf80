import { describe, expect, it } from "vitest";
import { inSystem } from "./sentence";

describe("a sentence of the workbench", () => {
  it.each([
    // International foot and mile (1959): 0.3048 m and 1609.344 m; standard gravity 9.80665 m/s2 (CGPM, 1901).
    ["Handover at 35 m; nothing is within 150 m ahead.", "Handover at 115 ft; nothing is within 490 ft ahead."],
    ["It leaves at 8.4 m/s into 2.9 m/s of wind.", "It leaves at 19 mph into 6½ mph of wind."],
    ["over 8 m/s2 for 0.10 s, as a bias +0.29 m/s²", "over 0.8 g for 0.10 s, as a bias +0.030 g"],
    ["it stays within 0.3 to 1.2 m", "it stays within 1 to 4 ft"],
    ["it sinks to 0.5 m, or by 1 m", "it sinks to 1.6 ft, or by 3 ft"],
    ["The board reads 0.85 +- 0.02 m/s2", "The board reads 0.087 ± 0.002 g"],
    ["known to +-2.8 m/s2 (before ±3.3 m/s²), +2.0 m", "known to ±0.29 g (before ±0.34 g), +6½ ft"],
    ["15 °C or more, ± 5 C, −0.0 m, −0.2 m/s", "59 °F or more, ± 9 °F, 0 ft, −½ mph"],
    ["1,250 m away, 120 mm out, 640 g, 1 kg", "4100 ft away, 4.7 in out, 22.6 oz, 2 lb"],
  ])("%s", (metric, imperial) => {
    expect(inSystem(metric, "imperial").replaceAll("\u00a0", " ")).toBe(imperial);
  });

  // Each metric figure stands for all that are rounded to it: what is shown may not lie outside, and claims no more than that.
  it.each([["m/s", 0.44704], ["m", 0.3048], ["kg", 0.45359237], ["N", 0.028349523125 * 9.80665]] as const)("does not claim more than the text did: %s", (unit, si) => {
    for (const places of [0, 1, 2])
      for (let i = 1; i < 400; i += 7) {
        const text = (i / 10 ** places).toFixed(places);
        const said = inSystem(`${text} ${unit}`, "imperial").split("\u00a0")[0]!;
        const value = Number(said.replace("½", ".5"));
        const [given, last] = [Number(text) / si, 10 ** -places / si];
        expect(Math.abs(value - given)).toBeLessThanOrEqual(Math.max(0.25 * last, 0.05 * given) + 1e-9);
        // Not finer than half of the last place that was written; only what is small keeps one place more.
        const step = said.endsWith("½") ? 0.5 : 10 ** -(said.split(".")[1]?.length ?? 0);
        if (given > 50 * last) expect(step).toBeGreaterThanOrEqual(Math.min(0.475 * last, 1));
      }
  });

  it("takes the figure that stands beside it", () => {
    const figures = { speed_mps: 8.349, other_m: 8.31 };
    expect(inSystem("It leaves at 8.3 m/s.", "imperial", figures)).toBe("It leaves at 18.7\u00a0mph.");
    expect(inSystem("8.3 m/s", "imperial", { a_mps: 8.349, b_mps: 8.26 })).toBe("18½\u00a0mph");
    expect(inSystem("It is 12 cm under.", "imperial", { gap_m: -0.1234 })).toBe("It is 4.9\u00a0in under.");
  });

  it("keeps what has no other unit, and names of things", () => {
    for (const text of ["95 % of 4S m1, 0.50 s, 9x6 in, 21°, a 3m tree, 2.4 m/s/s", "It stalls.", "999 launches of 1000; 5 mm/s"])
      expect(inSystem(text, "imperial").replaceAll("\u00a0", " ")).toBe(text);
  });

  it("is only written neatly in metric", () => {
    expect(inSystem("8 m/s2 +- 1 m/s2 at 20 C", "metric")).toBe("8\u00a0m/s² ±\u00a01\u00a0m/s² at 20\u00a0°C");
  });
});
