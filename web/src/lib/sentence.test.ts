import { describe, expect, it } from "vitest";
import { inSystem } from "./sentence";

describe("a sentence of the workbench", () => {
  it.each([
    // International foot and mile (1959): 0.3048 m and 1609.344 m; standard gravity 9.80665 m/s2 (CGPM, 1901).
    ["Handover at 35 m; nothing is within 150 m ahead.", "Handover at 115 ft; nothing is within 492 ft ahead."],
    ["It leaves at 8.4 m/s into 2.9 m/s of wind.", "It leaves at 18.8 mph into 6.5 mph of wind."],
    ["over 8 m/s2 for 0.10 s, as a bias +0.29 m/s²", "over 0.8 g for 0.10 s, as a bias +0.030 g"],
    ["it stays within 0.3 to 1.2 m", "it stays within 1.0 to 3.9 ft"],
    ["The board reads 0.85 +- 0.02 m/s2", "The board reads 0.087 ± 0.002 g"],
    ["known to +-2.8 m/s2 (before ±3.3 m/s²), +2.0 m", "known to ±0.29 g (before ±0.34 g), +6.6 ft"],
    ["15 °C or more, ± 5 C, −0.0 m", "59 °F or more, ± 9 °F, 0.0 ft"],
    ["1,250 m away, 120 mm out, 640 g", "4101 ft away, 4.72 in out, 22.58 oz"],
  ])("%s", (metric, imperial) => {
    expect(inSystem(metric, "imperial")).toBe(imperial);
  });

  it("keeps what has no other unit, and names of things", () => {
    for (const text of ["95 % of 4S m1, 0.50 s, 9x6 in, 21°, a 3m tree, 2.4 m/s/s", "It stalls.", "999 launches of 1000; 5 mm/s"])
      expect(inSystem(text, "imperial")).toBe(text);
  });

  it("is only written neatly in metric", () => {
    expect(inSystem("8 m/s2 +- 1 m/s2 at 20 C", "metric")).toBe("8 m/s² ± 1 m/s² at 20 °C");
  });
});
