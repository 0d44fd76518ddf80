import { describe, expect, it } from "vitest";
import { changed, read, type Tree } from "../../lib/yaml";
import type { Rule } from "../describe/fields";
import { asChanges, differences } from "./differences";

const amount = (unit: string, spread = "5 %", left?: string): Rule => ({
  ...(left ? { default: left } : {}),
  "x-amount": { dimension: "", units: [unit], unit, example: `1 ${unit}`, low: 0, high: 9, measured: "1 %", guessed: spread, source: "" },
});
const SCHEMA: Rule = {
  properties: {
    name: { type: "string" },
    day: { properties: { wind: amount("m/s"), temperature: amount("C", "5 %", "15 C") } },
    site: { properties: { obstacles: { items: { properties: { name: { type: "string" }, height: amount("m") } } } } },
  },
};
const TEXT = "name: a\nday:\n  wind: 4 m/s measured\nsite:\n  obstacles:\n    - {name: hedge, height: 6 m}\n";
const tree = (text: string): Tree => read(text).tree;
const told = (path: string, value: string | null): ReturnType<typeof differences> => differences(SCHEMA, tree(TEXT), tree(changed(TEXT, path, value)));

describe("differences", () => {
  it("are none where the same is written otherwise", () => {
    expect(told("day.wind", "14.4 km/h measured")).toEqual([]);
    expect(told("day.temperature", "15 C")).toEqual([]);
    expect(told("day.temperature", "288.15 K guessed")).toEqual([]);
    expect(told("name", "b")).toEqual([]);
  });

  it("tell both values, and which is left out", () => {
    expect(told("day.wind", "4 m/s guessed")).toMatchObject([{ path: "day.wind", left: "4 m/s measured", right: "4 m/s guessed" }]);
    expect(told("day.temperature", "2 C")).toMatchObject([{ left: "15 C", right: "2 C", leftOut: "left" }]);
    expect(told("site.obstacles.0.height", "9 m")).toMatchObject([{ name: "Obstacles 1: height", left: "6 m", right: "9 m" }]);
  });

  it("become changes as the server takes them", () => {
    const right = tree(changed(changed(TEXT, "day.wind", "6 m/s"), "day.temperature", "2 C"));
    const found = differences(SCHEMA, tree(TEXT), right);
    expect(asChanges(SCHEMA, tree(TEXT), right, found)).toEqual({ "day.wind": "6 m/s guessed", "day.temperature": "2 C guessed" });
  });

  it("do not become changes where a whole row or card is more", () => {
    const right = tree(`${TEXT}    - {name: tree, height: 9 m}\n`);
    expect(asChanges(SCHEMA, tree(TEXT), right, differences(SCHEMA, tree(TEXT), right))).toBeNull();
    expect(asChanges(SCHEMA, tree(TEXT), tree(TEXT), [])).toBeNull();
  });
});
