"""The answer to an ensemble, given by `disperse` when it is flown and by `landing-box` again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sim.analysis.consistency import consistency, is_aided
from sim.analysis.landing_box import landing_box
from sim.analysis.navigation import navigation
from sim.analysis.touchdown import touchdown
from sim.cli.screen import Screen
from sim.report import sentences, tables
from sim.report.as_json import dataset_object, scalar

if TYPE_CHECKING:
    from xarray import Dataset

_ABOUT = ("title", "scenario_digest", "seed", "flights", "sampling_method", "setdown_version",
          "unfinished")  # fmt: skip


def give(
    screen: Screen,
    dataset: Dataset,
    confidence: float,
    *,
    path: Path,
    scenario: str = "",
    picture: bool = True,
) -> None:
    """Analyse an ensemble and print the answer, drawing a picture beside its file if asked.

    Parameters
    ----------
    screen : Screen
    dataset : Dataset
        As `disperse` leaves it.
    confidence : float [1]
    path : Path
        Of the ensemble.
    scenario : str
        File it was flown from, if it is known.
    picture : bool
        Draw the landing box beside the ensemble.
    """
    box = landing_box(dataset, confidence=confidence)
    contact = touchdown(dataset, confidence=confidence)
    parts = navigation(dataset, confidence=confidence)
    drawn = path.with_suffix(".png") if picture else None
    if not screen.as_json:  # the answer does not wait for the picture
        _say(screen, dataset, box, contact, parts)
    if drawn is not None:
        from sim.report.landing_picture import draw_landing

        draw_landing(drawn, dataset, box, contact)
    if screen.as_json:
        about = {name: scalar(dataset.attrs[name]) for name in _ABOUT if name in dataset.attrs}
        found = {"landing_box": box, "touchdown": contact, "navigation": parts}
        if is_aided(dataset):
            found["consistency"] = consistency(dataset, confidence=confidence)
        screen.put_json(
            {"ensemble": str(path), "picture": str(drawn) if drawn else None, **about}
            | {name: dataset_object(ds) for name, ds in found.items()}
        )
        return
    if is_aided(dataset):
        from sim.report.filter_words import filter_sentence

        screen.say("", filter_sentence(consistency(dataset, confidence=confidence)))
    screen.say("")
    if drawn is not None:
        screen.say(f"Written: {path} and {drawn}")
    if scenario:
        screen.say("Next:", tables.steps(sentences.next_steps(str(path), scenario)))
    screen.say("", sentences.CAUTION)


def _say(
    screen: Screen, dataset: Dataset, box: Dataset, contact: Dataset, parts: Dataset
) -> None:
    from rich.text import Text

    screen.say(Text(sentences.success_sentence(contact), style="bold"))
    screen.say(sentences.miss_sentence(box), sentences.landing_pad_sentence(box))
    weakest = sentences.weakest_limit(contact)
    if weakest:
        screen.say(weakest)
    screen.say(Text(sentences.about(dataset), style="dim"))
    found = [
        tables.landing_box_table(box), tables.touchdown_table(contact),
        tables.limits_table(contact), tables.outcomes_table(contact),
        tables.navigation_table(parts),
    ]  # fmt: skip
    for table in found:
        if table is not None:
            screen.say("", table)
