/** What the server says, in the units of the user. */
import { inSystem, type Figures } from "./sentence";
import { taste } from "./state/taste.svelte";

export const inUnits = (text: string, figures: Figures = {}): string => inSystem(text, taste.system, figures);
