"""All pictures of a sheet, in the sizes of the printed page or of a phone."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from overarm.sheets.blade import BladeData, draw_blade
from overarm.sheets.canvas import Picture, Size
from overarm.sheets.carpet import CarpetData, draw_carpet
from overarm.sheets.chain import ChainData, draw_chain
from overarm.sheets.fan import FanData, draw_fan
from overarm.sheets.ground import draw_ground_plan
from overarm.sheets.race import RaceData, draw_race
from overarm.sheets.rose import draw_rose
from overarm.sheets.side import GROUND_PAGE, draw_side
from overarm.sheets.strip import StripData, draw_strip

if TYPE_CHECKING:
    from overarm.plan.result import PlanResult

PAGE = {
    "fan": Size(186, 85),
    "race": Size(186, 49),
    "carpet": Size(90, 58),
    "blade": Size(90, 58),
    "strip": Size(186, 70),
    "chain": Size(186, 14.5),
    "ground": GROUND_PAGE,
    "side": Size(186, 60),
    "rose": Size(58, 56),
}
PHONE = {
    "fan": Size(70, 86, narrow=True),
    "race": Size(70, 70, narrow=True),
    "carpet": Size(70, 58, narrow=True),
    "blade": Size(70, 52, narrow=True),
    "strip": Size(70, 108, narrow=True),
    "chain": Size(70, 46, narrow=True),
    "ground": Size(70, 112, narrow=True),
    "side": Size(70, 58, narrow=True),
    "rose": Size(70, 66, narrow=True),
}


class PictureData(NamedTuple):
    """What the six pictures show."""

    fan: FanData
    race: RaceData
    carpet: CarpetData
    blade: BladeData
    strip: StripData
    chain: ChainData


def draw_all(data: PictureData, *, narrow: bool) -> dict[str, Picture]:
    """Return the six pictures by name."""
    sizes = PHONE if narrow else PAGE
    return {
        "fan": draw_fan(data.fan, sizes["fan"]),
        "race": draw_race(data.race, sizes["race"]),
        "carpet": draw_carpet(data.carpet, sizes["carpet"]),
        "blade": draw_blade(data.blade, sizes["blade"]),
        "strip": draw_strip(data.strip, sizes["strip"]),
        "chain": draw_chain(data.chain, sizes["chain"]),
    }


def draw_plan(plan: PlanResult, *, narrow: bool) -> dict[str, Picture]:
    """Return the three pictures of a plan by name."""
    sizes = PHONE if narrow else PAGE
    return {
        "ground": draw_ground_plan(plan, sizes["ground"]),
        "side": draw_side(plan, sizes["side"]),
        "rose": draw_rose(plan, sizes["rose"]),
    }
