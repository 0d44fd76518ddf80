import { expect, it } from "vitest";
import { isSame } from "./same";

it("is the same question in any order of its keys, and without what is not given", () => {
  expect(isSame({ seed: 1, setup: { text: "a", files: {} } }, { setup: { files: {}, text: "a" }, seed: 1, mapping: undefined })).toBe(true);
  expect(isSame({ recordings: [1, 2] }, { recordings: [2, 1] })).toBe(false);
  expect(isSame({ setup: { text: "a" } }, { setup: { text: "b" } })).toBe(false);
  expect(isSame(null, {})).toBe(false);
});
