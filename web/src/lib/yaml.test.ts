import { describe, expect, it } from "vitest";
import { parse } from "yaml";
import { asWords, changed, flow, Raw, read, valueAt, withItem, withoutItem, written } from "./yaml";

const EXAMPLES = import.meta.glob<string>("../../../examples/*.yaml", { query: "?raw", import: "default", eager: true });
const lines = (text: string): string[] => text.split("\n");
const comments = (text: string): string[] => lines(text).flatMap((one) => /(?:^|\s)#.*$/.exec(one)?.[0].trim() ?? []);

/** Paths of every value in a tree. */
function paths(tree: unknown, above = ""): string[] {
  if (typeof tree !== "object" || tree === null) return [above];
  return Object.entries(tree).flatMap(([key, inside]) => paths(inside, above ? `${above}.${key}` : key));
}

describe("block cards", () => {
  const text = "a: 1   # one\nboard:\n  tilt: 2 deg  # two\n\n# three\nlast: x\n";

  it("sets a value and leaves every other byte", () => {
    expect(changed(text, "board.tilt", "3 deg")).toBe(text.replace("2 deg", "3 deg"));
  });

  it("puts a new key below the last one of its card", () => {
    expect(changed(text, "board.rate", "50 Hz")).toBe(text.replace("# two\n", "# two\n  rate: 50 Hz\n"));
  });

  it("makes cards that are missing", () => {
    expect(changed(text, "line.hook.down", "5 cm")).toBe(`${text}line:\n  hook:\n    down: 5 cm\n`);
  });

  it("takes a key out, and the card that it leaves empty", () => {
    expect(changed(text, "a", null)).toBe(text.replace("a: 1   # one\n", ""));
    expect(changed(text, "board.tilt", null)).toBe("a: 1   # one\n\n# three\nlast: x\n");
    expect(changed(text, "board", null)).toBe("a: 1   # one\n\n# three\nlast: x\n");
    expect(changed(text, "nothing.there", null)).toBe(text);
  });

  it("fills a key that has no value yet", () => {
    expect(changed("a: 1\nboard:  # c\n", "board.tilt", "1 deg")).toBe("a: 1\nboard: {tilt: 1 deg}  # c\n");
    expect(changed("a:\nb: 2\n", "a", "1")).toBe("a: 1\nb: 2\n");
    expect(changed("a: 1\nboard: {}\n", "board.tilt", "1 deg")).toBe("a: 1\nboard: {tilt: 1 deg}\n");
  });

  it("ends a last line that was not ended", () => {
    expect(changed("a: 1\nb: 2", "c", "3")).toBe("a: 1\nb: 2\nc: 3\n");
  });

  it("replaces texts over several lines", () => {
    expect(changed("a: |\n  one\n  two\nb: 2\n", "a", "x")).toBe("a: x\nb: 2\n");
    expect(changed("a:\n  value: 1 kg\n  known: measured\nb: 2\n", "a", "2 kg")).toBe("a:\n  2 kg\nb: 2\n");
  });
});

describe("cards in braces", () => {
  const text = "tail: {arm: 65 cm, area: 5 dm2}  # t\nb: 1\n";

  it("sets, puts in and takes out", () => {
    expect(changed(text, "tail.arm", "70 cm")).toBe(text.replace("65", "70"));
    expect(changed(text, "tail.span", "47 cm")).toBe(text.replace("5 dm2", "5 dm2, span: 47 cm"));
    expect(changed(text, "tail.arm", null)).toBe(text.replace("arm: 65 cm, ", ""));
    expect(changed(text, "tail.area", null)).toBe(text.replace(", area: 5 dm2", ""));
    expect(changed(text, "tail.fin.area", "2 dm2")).toBe(text.replace("5 dm2", "5 dm2, fin: {area: 2 dm2}"));
  });

  it("does not run into a comment", () => {
    const broken = "tail: {\n  arm: 65 cm # long\n}\nb: 1\n";
    expect(valueAt(read(changed(broken, "tail.area", "5 dm2")).tree, "tail.area")).toBe("5 dm2");
    const two = "tail: {arm: 65 cm, # long\n  area: 5 dm2}\n";
    expect(read(changed(two, "tail.arm", null))).toMatchObject({ faults: [], tree: { tail: { area: "5 dm2" } } });
    expect(changed(two, "tail.arm", null)).toContain("# long");
  });
});

describe("lists", () => {
  const text = "power:\n  bench:   # two\n    - {throttle: 95 %, pull: 7 N}\n    - throttle: 50 %\n      pull: 2 N  # p\nb: 1\n";

  it("sets values in entries", () => {
    expect(changed(text, "power.bench.0.pull", "8 N")).toBe(text.replace("7 N", "8 N"));
    expect(changed(text, "power.bench.1.pull", "3 N")).toBe(text.replace("2 N", "3 N"));
    expect(changed(text, "power.bench.1.current", "3 A")).toBe(text.replace("# p\n", "# p\n      current: 3 A\n"));
    expect(changed(text, "power.bench.1.throttle", null)).toBe(text.replace("throttle: 50 %\n      ", ""));
    expect(changed(text, "power.bench.7.pull", "3 N")).toBe(text);
  });

  it("puts entries in and takes them out", () => {
    const item = flow({ throttle: "20 %", pull: "1 N" });
    const more = withItem(text, "power.bench", item);
    expect(more).toBe(text.replace("# p\n", "# p\n    - {throttle: 20 %, pull: 1 N}\n"));
    expect(withoutItem(more, "power.bench", 2)).toBe(text);
    expect(withoutItem(text, "power.bench", 0)).toBe(text.replace("    - {throttle: 95 %, pull: 7 N}\n", ""));
    expect(withoutItem("p:\n  b:\n    - {c: 1}\n  d: 2\n", "p.b", 0)).toBe("p:\n  d: 2\n");
    expect(withItem("p:\n  d: 2\n", "p.b", item)).toBe("p:\n  d: 2\n  b:\n    - {throttle: 20 %, pull: 1 N}\n");
    expect(withItem("p: {b: [{c: 1}]}\n", "p.b", new Raw("{c: 2}"))).toBe("p: {b: [{c: 1}, {c: 2}]}\n");
    expect(withoutItem("p: {b: [{c: 1}, {c: 2}]}\n", "p.b", 1)).toBe("p: {b: [{c: 1}]}\n");
    expect(withItem("b: []\n", "b", new Raw("{c: 2}"))).toBe("b: [{c: 2}]\n");
    expect(withItem("b:\nc: 1\n", "b", new Raw("{c: 2}"))).toBe("b: [{c: 2}]\nc: 1\n");
  });
});

describe("what is written", () => {
  const nasty = [
    "Größe: 5 # äh", "- a", "-", "[x]", "{x}", "yes", "null", "~", "", " a", "a ", "1.2 kg +- 3 % measured", "95 %", "Tom's",
    'say "hi"', "a\nb", "tab\there", "12", "0x1F", "& *", "%", "@home", "日本", "🛩", "...", "---", "? a", "a: b", "a #b", "-15 %", "+-",
    "9x6 in", "(test)", "C:\\x", "a, b", "1, 2", "x:", "!tag", "|", ">", "`", ".5 kg", "\u2028",
  ]; // prettier-ignore

  it.each(nasty)("%j comes back as it was, in both kinds of card", (value) => {
    for (const text of ["a: 1 # c\nb: 2\n", "o: {a: 1, b: 2} # c\n"]) {
      const path = text.startsWith("o") ? "o.a" : "a";
      const after = changed(text, path, value);
      expect(read(after).faults).toEqual([]);
      expect(valueAt(read(after).tree, path)).toBe(value);
      expect(after).toContain("# c");
      expect(valueAt(parse(changed(text, path, asWords(value))), path)).toBe(value);
    }
  });

  it("quotes only where it must", () => {
    expect(["640 g", "9x6 in", "large wing, öä", "-3 deg", "club flyer (left)"].map((one) => written(one))).toEqual([
      "640 g", "9x6 in", '"large wing, öä"', "-3 deg", "club flyer (left)",
    ]); // prettier-ignore
    expect(changed("a: 1\n", "a", "wing, öä")).toBe("a: wing, öä\n");
    expect(changed("a: {b: 1}\n", "a.b", "wing, öä")).toBe('a: {b: "wing, öä"}\n');
    expect(asWords("12").text).toBe('"12"');
  });
});

describe("other texts", () => {
  it("keeps the ends of lines of another system", () => {
    const text = "a: 1\r\nboard:\r\n  tilt: 2 deg # ö\r\n";
    expect(changed(text, "board.tilt", "3 deg")).toBe(text.replace("2", "3"));
    expect(changed(text, "board.rate", "5 Hz")).toBe(`${text}  rate: 5 Hz\r\n`);
    expect(changed(text, "a", null)).toBe(text.replace("a: 1\r\n", ""));
    expect(withItem(text, "b", new Raw("{c: 1}"))).toBe(`${text}b:\r\n  - {c: 1}\r\n`);
  });

  it("leaves a text alone that is not a card or not YAML", () => {
    for (const text of ["", "x", "a: [", "a: 1\na: 2\n", "- 1\n"]) expect(changed(text, "a", "3")).toBe(text);
    expect(read("a: [").faults[0]).toMatchObject({ line: 1 });
  });
});

describe.each(Object.entries(EXAMPLES))("%s", { timeout: 60_000 }, (_, text) => {
  const { tree } = read(text);
  const all = paths(tree);

  it("has values to try", () => expect(all.length).toBeGreaterThan(50));

  it("keeps every other byte when a value is set", () => {
    for (const path of all) {
      const before = valueAt(tree, path) as string;
      const after = changed(text, path, "77 furlongs");
      expect(changed(after, path, before)).toBe(text);
      expect(comments(after)).toEqual(comments(text));
      expect(lines(after).filter((one, i) => one !== lines(text)[i])).toHaveLength(1);
    }
  });

  it("takes out one value and its line, and nothing else", () => {
    for (const path of all) {
      const after = changed(text, path, null);
      const left = paths(read(after).tree);
      expect(all.filter((one) => !left.includes(one))).toEqual([path]);
      expect(text).toContain(lines(after)[0]);
      const gone = lines(text).filter((one) => !lines(after).includes(one));
      expect(gone.length).toBeLessThanOrEqual(2);
    }
  });

  it("puts in a value on a line of its own and takes it out again", () => {
    for (const card of ["airframe", "airframe.board", "power", "settings", "day", "site"]) {
      const after = changed(text, `${card}.invented`, "1 m");
      expect(valueAt(read(after).tree, `${card}.invented`)).toBe("1 m");
      expect(comments(after)).toEqual(comments(text));
      expect(changed(after, `${card}.invented`, null)).toBe(text);
    }
  });
});
