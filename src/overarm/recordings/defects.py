"""The defects that recordings have: a name for each, and what it is."""

from __future__ import annotations

DEFECTS: dict[str, str] = {
    "not finite": "samples whose time or value is not a number",
    "beyond range": "values that the channel can never have had",
    "restart": "the clock began again, because the recorder started again within the file",
    "rollover": "the counter of the clock was full and began again at nothing",
    "clock jump": "the clock stepped back or far ahead",
    "duplicate": "several samples with one time",
    "gap": "samples that are missing within the recording",
    "jitter": "samples that come at uneven times",
    "stuck": "one value over and over, while other channels move",
    "unit": "values that look as if they were in another unit",
    "axes": "forces and rates along other axes than forward, right and down",
    "gravity removed": "forces from which gravity was taken off before they were recorded",
    "saturation": "a force that stops at the end of the range of its sensor",
    "aliasing": "shaking of the propeller that shows as a slower one, because it is sampled too slowly",
    "satellite lag": "speed and place by satellite that come late",
    "airspeed zero": "an airspeed that is not nothing while the aeroplane is still",
    "height step": "a height that jumps faster than any climb",
}
