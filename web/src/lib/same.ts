/** Whether two questions are the same, in whichever order their keys stand. */

function ordered(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(ordered);
  if (typeof value !== "object" || value === null) return value;
  const pairs = Object.entries(value).filter(([, inner]) => inner !== undefined);
  return Object.fromEntries(pairs.sort(([a], [b]) => (a < b ? -1 : 1)).map(([key, inner]) => [key, ordered(inner)]));
}

export const isSame = (one: unknown, other: unknown): boolean => JSON.stringify(ordered(one)) === JSON.stringify(ordered(other));
