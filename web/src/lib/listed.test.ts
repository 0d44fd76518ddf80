import { expect, it } from "vitest";
import { listed } from "./listed";

it("is said as in a sentence", () => {
  expect([[], ["a"], ["a", "b"], ["a", "b", "c"]].map(listed)).toEqual(["", "a", "a and b", "a, b and c"]);
});
