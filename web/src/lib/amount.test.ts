import { describe, expect, it } from "vitest";
import { amountIn, joined, parsed } from "./amount";
import { fromSi, isUnit, shown, toSi } from "./units";

describe("amounts", () => {
  it.each([
    ["1.60 kg measured", { number: "1.60", unit: "kg", spread: "", known: "measured" }],
    ["8.5 m/s +- 0.4 m/s guessed", { number: "8.5", unit: "m/s", spread: "0.4 m/s", known: "guessed" }],
    ["12 N ± 4 %", { number: "12", unit: "N", spread: "4 %", known: "" }],
    ["12 N +/- 4 %", { number: "12", unit: "N", spread: "4 %", known: "" }],
    ["-15 %", { number: "-15", unit: "%", spread: "", known: "" }],
    ["0.95", { number: "0.95", unit: "", spread: "", known: "" }],
    ["20 °C", { number: "20", unit: "C", spread: "", known: "" }],
    ["8 m/s² measured", { number: "8", unit: "m/s2", spread: "", known: "measured" }],
    ["5°", { number: "5", unit: "deg", spread: "", known: "" }],
    ["1e-3 kg m2", { number: "1e-3", unit: "kg m2", spread: "", known: "" }],
  ])("%s", (text, amount) => {
    expect(parsed(text)).toEqual(amount);
    expect(parsed(joined(parsed(text)!))).toEqual(amount);
  });

  it("is not made of what does not begin with a number", () => {
    for (const text of ["", "kg", "- 5", "abc 5 kg"]) expect(parsed(text)).toBeNull();
  });

  it("may stand as a card of three keys", () => {
    const found = amountIn({ value: "8 m/s", spread: "5 %", known: "measured" });
    expect(found).toEqual({ number: "8", unit: "m/s", spread: "5 %", known: "measured" });
    expect(amountIn(["8 m/s"])).toBeNull();
    expect(amountIn(undefined)).toBeNull();
  });
});

describe("units", () => {
  it("go to SI and back", () => {
    for (const unit of ["lb", "in2", "mph", "F", "inHg", "ozf", "rpm/V", "gee", "lbf/ft", "%/s"]) {
      expect(isUnit(unit)).toBe(true);
      expect(fromSi(toSi(12.5, unit), unit)).toBeCloseTo(12.5, 9);
    }
  });

  // International yard and pound (1959); SI brochure (BIPM, 2019) for the degree Celsius.
  it("agree with their definitions", () => {
    expect(toSi(1, "lb")).toBe(0.45359237);
    expect(toSi(1, "ft")).toBe(0.3048);
    expect(toSi(32, "F")).toBeCloseTo(273.15, 9);
  });

  it("are shown in the system of the user", () => {
    expect(shown(1.6, "kg", "imperial")).toBe("3.53\u00a0lb");
    expect(shown(0.1, "deg", "metric", 2)).toBe("5.7°");
  });
});
