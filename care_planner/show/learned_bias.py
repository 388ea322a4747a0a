"""What a site has learned of its forecast's error, told beside the nights whose numbers it changes."""

from collections.abc import Iterator

from care_planner.climate.forecast_error import PAIRS_FOR_BIAS
from care_planner.climate.outlook import Outlook
from care_planner.show.passages import Passage

_LEAST_TOLD_C = 0.05  # what is less shows in no number


def bias_blocks(outlook: Outlook) -> Iterator[Passage]:
    """How many degC are taken off tonight's low and what by; nothing where nothing is taken off."""
    tonight = outlook.of(outlook.today + 1)
    if tonight is None:
        return
    law, lead = outlook.low_law, max(tonight.lead, 1)
    pairs, (bias, _) = law.pairs[min(lead, len(law.pairs)) - 1], law.at(lead)
    if pairs < PAIRS_FOR_BIAS or abs(bias) < _LEAST_TOLD_C:
        return
    what = f"{abs(bias):.1f} degC {'taken off' if bias > 0 else 'added to'} the forecast low"
    yield Passage(f"{what}: by {pairs} nights compared with what came")
