/** Several things in one sentence: "one", "one and two", "one, two and three". */
export const listed = (parts: readonly string[]): string => (parts.length > 1 ? `${parts.slice(0, -1).join(", ")} and ${parts.at(-1)}` : (parts[0] ?? ""));
