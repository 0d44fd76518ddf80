import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { Sending } from "./sending.svelte";
import { uploads, type Upload } from "./uploads.svelte";

const kept = (id: string, made_utc: string): Upload => ({ id, name: "throw.csv", bytes: 3, sha256: "", made_utc, jobs: [], setups: [] });
const OLD = kept("old", "2031-05-20T18:30:00.000Z");
/** The server's clock is behind that of the page. */
const FRESH = kept("fresh", "2001-05-20T18:30:00.000Z");

beforeEach(() => {
  const held = new Map<string, string>();
  vi.stubGlobal("localStorage", {
    getItem: (key: string) => held.get(key) ?? null,
    setItem: (key: string, text: string) => void held.set(key, text),
    removeItem: (key: string) => void held.delete(key),
  });
  vi.stubGlobal("fetch", () => new Promise(() => {})); // the page ends before there is an answer
});
afterEach(() => vi.unstubAllGlobals());

it.each([
  ["nothing like it is there", [], ["throw.csv"]],
  ["only one that was there before", [OLD], ["throw.csv"]],
  ["it arrived, whatever the clocks say", [FRESH, OLD], []],
])("tells what did not arrive: %s", (_words, list, told) => {
  uploads.list = [OLD];
  void new Sending("review").give([new File(["abc"], "throw.csv")], () => {});
  const next = new Sending("review");
  uploads.list = null;
  expect(next.cut).toEqual([]);
  uploads.list = list;
  expect(next.cut.map((one) => one.name)).toEqual(told);
});
