"""From the result of the odds room to the words and links of a sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from overarm.sheets.chain import ChainData, Link
from overarm.sheets.content import Answer, Odds, Remark, Trail

if TYPE_CHECKING:
    from overarm.odds.result import OddsResult


def answer_of(result: OddsResult, date: str) -> Answer:
    """Return odds, trail and findings of a result in the terms of a sheet."""
    campaign = result.campaign
    failures = tuple(
        (name, count / campaign.launches)
        for name, count in result.outcomes.items()
        if count and name != "clean"
    )
    odds = Odds(result.clean, len(result.inputs.guessed), result.inputs.count, failures)
    trail = Trail(campaign.version, campaign.setup_hash, campaign.seed, campaign.launches, date)
    return Answer(odds, trail, [Remark(item.word, item.sentence) for item in result.findings])


def chain_data(result: OddsResult) -> ChainData:
    """Return the chain of links and the sentence about the weakest."""
    from overarm.odds.format import percent
    from overarm.odds.links import link_interval

    links = tuple(
        Link(link.name, link.odds, percent(link_interval(result.table, link.name)))
        for link in result.links
        if link.odds is not None
    )
    return ChainData(links, result.weakest_link.sentence)
