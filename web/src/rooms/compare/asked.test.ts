import { describe, expect, it } from "vitest";
import { namesOf, withChanges } from "./asked";

const TEXT = "name: One\nday:\n  wind: 4 m/s measured  # at the hand\n  pack_volts: 16 V\nsettings:\n  climb_pitch: 20 deg\n";

describe("the pair of a job", () => {
  it("is the text with its changes; how a value is known stays, as with --set", () => {
    const text = withChanges(TEXT, { "day.wind": "1 m/s", "day.pack_volts": "15 V guessed", "settings.climb_pitch": "none", name: "Two" });
    expect(text).toBe("name: Two\nday:\n  wind: 1 m/s measured  # at the hand\n  pack_volts: 15 V guessed\n");
  });

  it("is told apart by name, or by what was changed", () => {
    const pair = (right: string, changes: Record<string, string> | null) => ({ left: { text: TEXT, files: {} }, right: { text: right, files: {} }, changes, seed: 1 });
    expect(namesOf(pair(TEXT, { "day.wind": "1 m/s" }))).toEqual(["One", "with wind 1 m/s"]);
    expect(namesOf(pair(TEXT.replace("One", "Two"), { name: "Two" }))).toEqual(["One", "Two"]);
  });
});
