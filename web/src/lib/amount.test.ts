import { describe, expect, it } from "vitest";
import { amountIn, inUnit, joined, parsed } from "./amount";
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

describe("a number in another unit", () => {
  // International yard and pound (1959): 0.3048 m to the foot, 0.45359237 kg to the pound, 1609.344 m to the mile.
  it.each([
    ["1.6", "kg", "lb", "3.53"],
    ["1.35", "m", "ft", "4.43"],
    ["640", "g", "oz", "22.58"],
    ["1200", "mm", "in", "47.24"],
    ["8", "m/s", "mph", "17.9"],
    ["35", "m", "ft", "115"],
    ["0.5", "m", "ft", "1.64"],
    ["-5", "C", "F", "23"],
    ["0", "m/s2", "gee", "0"],
    ["7", "furlong", "ft", "7"],
  ])("%s %s in %s is %s%s", (number, from, to, said) => {
    expect(inUnit(number, from, to)).toBe(said);
  });

  it("is read back as it was written, with as many decimals", () => {
    for (const [from, to] of [["kg", "lb"], ["m", "ft"], ["mm", "in"], ["m/s", "mph"], ["C", "F"], ["N", "ozf"]] as const)
      for (const places of [0, 1, 2])
        for (let i = 1; i < 3000; i += 13) {
          const number = (i / 10 ** places).toFixed(places);
          expect(fromSi(toSi(Number(inUnit(number, from, to)), to), from).toFixed(places)).toBe(number);
        }
  });
});
