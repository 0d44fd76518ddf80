import { describe, expect, it } from "vitest";
import { marks } from "./marks";
import { counted, fromSi, shown, unbroken, unitFor } from "./units";

describe("marks", () => {
  it("are round in metres and in feet, and stand where they say", () => {
    expect(marks(0, 42, "m", "metric", 4).map((one) => one.text)).toEqual(["0", "20", "40"]);
    const feet = marks(0, 42, "m", "imperial", 4);
    expect(feet.map((one) => one.text)).toEqual(["0", "50", "100"]);
    // International foot (1959).
    expect(feet[2]!.si).toBeCloseTo(30.48, 9);
  });

  it.each([
    [0, 95, "m/s"],
    [-3, 12, "m/s"],
    [0, 0.7, "m"],
    [-8, 31, "m/s2"],
    [0, 412, "m"],
    [90, 130, "m"],
  ])("from %d to %d %s are multiples of 1, 2, 2.5 or 5 within the ends", (low, high, unit) => {
    for (const system of ["metric", "imperial"] as const) {
      const found = marks(low, high, unit, system);
      expect(found.length).toBeGreaterThan(1);
      const [a, b] = found.map((one) => Number(one.text.replace("−", "-")));
      const step = (b! - a!) / 10 ** Math.floor(Math.log10(b! - a!) + 1e-9);
      expect([1, 2, 2.5, 5].some((one) => Math.abs(one - step) < 1e-9)).toBe(true);
      for (const one of found) {
        expect(one.si).toBeGreaterThanOrEqual(low - 1e-9);
        expect(one.si).toBeLessThanOrEqual(high + 1e-9);
        expect(Number(one.text.replace("−", "-"))).toBeCloseTo(fromSi(one.si, unitFor(unit, system)), 6);
      }
    }
  });
});

describe("figures in words", () => {
  // Standard gravity 9.80665 m/s2 (3rd CGPM, 1901); mile of 1609.344 m.
  it("are of the system", () => {
    expect(shown(9.80665, "m/s2", "imperial")).toBe("1\u00a0g");
    expect(shown(25, "m/s", "imperial", 2)).toBe("56\u00a0mph");
    expect(shown(60, "m/s", "imperial", 2)).toBe("134\u00a0mph");
  });

  it("count with commas, as the commands do", () => {
    expect(counted(999)).toBe("999");
    expect(counted(1998)).toBe("1,998");
    expect(counted(200_000)).toBe("200,000");
  });

  it("stay with their units on one line", () => {
    const text = "95 % within 8 to 9 m/s ± 2 mm, 9x6 in, 6½ mph, 0.7 Vs; 3 mistakes, 20 launches";
    expect(unbroken(text).replaceAll("\u00a0", "_")).toBe("95_% within 8 to 9_m/s ±_2_mm, 9x6_in, 6½_mph, 0.7_Vs; 3 mistakes, 20 launches");
  });
});
