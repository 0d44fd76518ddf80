import { describe, expect, it } from "vitest";
import { asText, knobsOf, type CardsSchema } from "./knobs";

const amount = (low: number, high: number) => ({ "x-amount": { low, high } });
const schema: CardsSchema = {
  properties: {
    settings: { properties: { jerk_level: amount(0.5, 100), handover_height: amount(5, 120), start_wait: amount(0, 5) } },
    thrower: { properties: { release_speed: amount(2, 25) } },
    airframe: { properties: { mass: amount(0.05, 5) } },
  },
};
const written: Record<string, string> = {
  "settings.jerk_level": "8 m/s2", "settings.handover_height": "35 m", "settings.start_wait": "0.6 s",
  "thrower.release_speed": "8.5 m/s +- 0.4 measured", "airframe.mass": "640 g measured",
}; // prettier-ignore
const of = (system: "metric" | "imperial") => Object.fromEntries(knobsOf(schema, (path) => written[path] ?? "", system).map((knob) => [knob.path, knob]));

describe("sliders", () => {
  it("stand in the unit of the user", () => {
    const [metric, imperial] = [of("metric"), of("imperial")];
    expect(Object.values(metric).map((knob) => knob.unit)).toEqual(["s", "m/s2", "m", "m/s", "kg"]);
    expect(Object.values(imperial).map((knob) => knob.unit)).toEqual(["s", "gee", "ft", "mph", "lb"]);
    expect(metric["thrower.release_speed"]!.home).toBe(8.5);
    // Statute mile of 1609.344 m, avoirdupois pound of 0.45359237 kg (1959).
    expect(imperial["thrower.release_speed"]!.home).toBeCloseTo((8.5 * 3600) / 1609.344, 9);
    expect(imperial["airframe.mass"]!.home).toBeCloseTo(0.64 / 0.45359237, 9);
  });

  it("end at whole steps within the range of the card", () => {
    for (const knob of [...Object.values(of("metric")), ...Object.values(of("imperial"))]) {
      for (const end of [knob.low, knob.high]) expect(Math.abs(end / knob.step - Math.round(end / knob.step))).toBeLessThan(1e-6);
      expect(knob.low).toBeLessThan(knob.home);
      expect(knob.high).toBeGreaterThan(knob.home);
    }
    expect(of("imperial")["settings.handover_height"]!.high).toBeLessThanOrEqual(120 / 0.3048);
  });

  it("write what is read, and leave the spread in the unit that it was given in", () => {
    expect(asText(of("metric")["thrower.release_speed"]!, 9.2)).toBe("9.2 m/s +- 0.4 m/s measured");
    expect(asText(of("imperial")["thrower.release_speed"]!, 20.6)).toBe("20.6 mph +- 0.4 m/s measured");
  });
});
