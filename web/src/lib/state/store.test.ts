import { describe, expect, it } from "vitest";
import forms from "../../../../src/overarm/app/api/forms.py?raw";
import { LONGEST_TEXT } from "../api/client";
import { Store } from "./store.svelte";

/** A place of so many letters, as a browser has one (WHATWG, "HTML", 12.2: setItem throws where there is no room). */
function place(room: number): Storage {
  const held = new Map<string, string>();
  return {
    getItem: (key: string) => held.get(key) ?? null,
    setItem: (key: string, text: string) => {
      if (text.length > room) throw new DOMException("full", "QuotaExceededError");
      held.set(key, text);
    },
    removeItem: (key: string) => void held.delete(key),
  } as Storage;
}

describe("what the browser keeps", () => {
  it("is found again", () => {
    const there = place(100);
    expect(new Store(() => there).write("a", { b: 1 })).toBe(true);
    const next = new Store(() => there);
    expect(next.read("a")).toEqual({ b: 1 });
    next.drop("a");
    expect(next.read("a")).toBeNull();
    expect(next.refused).toBe(false);
  });

  it("is kept for this visit where there is no room, and that is told", () => {
    const there = place(3);
    const store = new Store(() => there);
    store.keep("a", "old");
    expect(store.keep("a", "much longer")).toBe(false);
    expect(store.refused).toBe(true);
    expect(store.text("a")).toBe("much longer");
    expect(store.keep("a", "new")).toBe(true);
    expect([store.text("a"), there.getItem("a")]).toEqual(["new", "new"]);
  });

  it("is kept for this visit where the browser allows nothing at all", () => {
    const store = new Store(() => {
      throw new DOMException("not here", "SecurityError");
    });
    expect(store.text("a")).toBeNull();
    expect(store.refused).toBe(true);
    store.write("a", [1]);
    expect(store.read("a")).toEqual([1]);
    store.drop("a");
    expect(store.text("a")).toBeNull();
  });

  it("is nothing where it was spoilt", () => {
    const there = place(100);
    there.setItem("a", "{half");
    expect(new Store(() => there).read("a")).toBeNull();
    expect(there.getItem("a")).toBeNull();
  });
});

it("holds no longer text than the server takes", () => {
  expect(forms).toContain(`LONGEST_TEXT = ${LONGEST_TEXT.toLocaleString("en").replaceAll(",", "_")}\n`);
});
