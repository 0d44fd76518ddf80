/** Everything in the browser that asks with uploads by their ids: what is removed leaves each of them. */
import { setup } from "../lib/state/setup.svelte";
import type { Holder } from "../lib/state/uploads.svelte";
import { field } from "./field/field.svelte";
import { session } from "./rehearsal/session.svelte";
import { given } from "./review/recording.svelte";
import { recordings } from "./trigger/recordings.svelte";

export const HOLDERS: readonly Holder[] = [recordings, given, field, session, setup];
