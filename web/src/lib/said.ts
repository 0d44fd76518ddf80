/** What the server says, in the units of the user. */
import { inSystem } from "./sentence";
import { taste } from "./state/taste.svelte";

export const inUnits = (text: string): string => inSystem(text, taste.system);
