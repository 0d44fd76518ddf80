"""From the result of the odds room to the words and links of a sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from overarm.odds.stop import FEWEST_WORLDS
from overarm.sheets.chain import ChainData, Link
from overarm.sheets.content import Answer, Odds, Remark, Trail

if TYPE_CHECKING:
    from overarm.odds.finding import Finding
    from overarm.odds.result import OddsResult


def answer_of(result: OddsResult, date: str) -> Answer:
    """Return odds, trail and findings of a result in the terms of a sheet."""
    campaign = result.campaign
    failures = tuple(
        (name, count / campaign.launches)
        for name, count in result.outcomes.items()
        if count and name != "clean"
    )
    spread = result.over_worlds
    unsure = (spread.p5, spread.p95) if campaign.worlds >= FEWEST_WORLDS else None
    odds = Odds(result.clean, len(result.inputs.guessed), result.inputs.count, failures, unsure)
    trail = Trail(campaign.version, campaign.setup_hash, campaign.seed, campaign.launches, date)
    return Answer(odds, trail, [Remark(item.word, _sentence(item)) for item in result.findings])


def _sentence(item: Finding) -> str:
    """Return the sentence of a finding; a hand's time by formula is told apart from that of the pictures."""
    if item.name == "clear slack" and "clear_s" in item.numbers:
        return f"By the formula for the hand alone, not as flown: {item.sentence}"
    return item.sentence


def chain_data(result: OddsResult) -> ChainData:
    """Return the chain of links and the sentence about the weakest."""
    from overarm.odds.format import percent
    from overarm.odds.links import link_interval

    links = tuple(
        Link(
            link.name,
            1.0 if link.odds is None else link.odds,
            percent(link_interval(result.table, link.name)) if link.reached else "",
            bool(link.reached),
        )
        for link in result.links
    )
    return ChainData(links, result.weakest_link.sentence)
