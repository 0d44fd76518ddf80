"""What of the settings that were found has to be written into the setup."""

from __future__ import annotations

from typing import TYPE_CHECKING

from overarm.describe.change import changed

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.settings.result import SettingsResult


def changes_to_write(card: Setup, result: SettingsResult) -> dict[str, str]:
    """Return path and text of each setting that is another one in the answer than in the setup."""
    before, after = (
        {path: (item.value, item.spread) for path, item in one.inputs()}
        for one in (card, changed(card, result.changes))
    )
    return {path: text for path, text in result.changes.items() if before.get(path) != after[path]}
