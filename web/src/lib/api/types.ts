/** Shapes of the interface, from its own description (`npm run types`). */
import type { components } from "./schema";

export type Shapes = components["schemas"];
export type Job = Shapes["Job"];
export type Problem = Shapes["Problem"];
export type SetupText = { text: string; files: Record<string, string> };
/** Changes as `--set` takes them: `{"settings.start_wait": "0.7 s"}`. */
export type Changes = Record<string, string>;
