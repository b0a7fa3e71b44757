"""`setdown card`: one page to take to the field, and the settings to load as files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.cli import options

if TYPE_CHECKING:
    from sim.report.card.given import ClearArea, Limit


@click.command(
    "card",
    epilog=options.examples(
        "setdown card scenarios/heron.toml",
        "setdown card scenarios/heron.toml --tolerance results/tilt.json --hazard results/far.json",
        "setdown card scenarios/heron.toml --settings results/heron_settings",
    ),
)
@options.scenario_file
@click.option(
    "--tolerance", "tolerances", multiple=True, metavar="K.json",
    help="Limit of an input, as 'setdown tolerance FILE KEY --json' prints it; may be repeated.",
)  # fmt: skip
@click.option(
    "--hazard", metavar="H.json", help="Clear area, as 'setdown hazard FILE --json' prints it."
)
@click.option(
    "--settings", metavar="DIR",
    help="Write gains, sequence and tables to this folder too: CSV, and a header for C.",
)  # fmt: skip
@options.sets
@options.out("Page to write, .html; a .pdf goes beside it. results/NAME_card.html by default.")
@click.option("--replace", is_flag=True, help="Write over files that are there.")
@options.as_json
def verb(
    scenario: str, tolerances: tuple[str, ...], hazard: str | None, settings: str | None,
    sets: tuple[str, ...], out: str | None, replace: bool, as_json: bool,
) -> None:  # fmt: skip
    """Write a card for the scenario FILE: one printable page, as HTML and as PDF.

    Settings to load, readings to take and their limits, motors, stand-off, what to do when it does
    not go as planned. The settings carry the digest of the scenario: compare it before arming.
    """
    from sim.cli.screen import Screen
    from sim.scenario import load_scenario

    screen = Screen(as_json=as_json)
    loaded = load_scenario(scenario, sets)
    page = options.output(out, scenario, "_card.html")
    printed, folder = page.with_suffix(".pdf"), Path(settings) if settings else None
    stem = Path(scenario).stem
    _check(page, folder, _names(stem) if folder else (), replace)

    from sim.cli.new_files import write_all
    from sim.cli.progress import say_if_cold
    from sim.ensemble.card import gather_card
    from sim.ensemble.card_settings import settings_files
    from sim.ensemble.fly_runs import WIDTH

    limits, area = _given(tolerances, hazard, loaded.digest)
    from sim.report.card.contents import sheet
    from sim.report.card.pdf import pdf
    from sim.report.card.render import html

    say_if_cold(screen, WIDTH)
    facts = gather_card(loaded)
    card = sheet(facts, file=Path(scenario).name, limits=limits, area=area)
    laid_out, size = pdf(card)
    files: dict[Path, str | bytes] = {page: html(card, size), printed: laid_out}
    if folder is not None:
        made = settings_files(stem, facts.settings, facts.tables, loaded.digest)
        folder.mkdir(exist_ok=True)
        files |= {folder / name: text for name, text in made.items()}
    write_all(files)
    written = [str(path) for path in files]
    if as_json:
        screen.put_json({
            "page": str(page), "pdf": str(printed), "written": written,
            "scenario_digest": loaded.digest,
            "limits": [limit.key for limit in limits], "clear_area": bool(area),
        })  # fmt: skip
        return
    from sim.report.sentences import CAUTION

    screen.say(f"Card for {loaded.title}, digest {loaded.digest[:16]}. Read it before you go.")
    if not limits:
        screen.say(f"No limits given: setdown tolerance {scenario} launch_pad.tilt --json > "
                   "tilt.json, then --tolerance tilt.json.")  # fmt: skip
    screen.say("", f"Written: {', '.join(written)}", "", CAUTION)


def _names(stem: str) -> tuple[str, ...]:
    return tuple(f"{stem}_{part}" for part in (
        "gains.csv", "sequence.csv", "ignition_height.csv", "landing_push.csv", "settings.h",
    ))  # fmt: skip


def _check(page: Path, folder: Path | None, names: tuple[str, ...], replace: bool) -> None:
    """Find all that is wrong with the places to write to."""
    from sim.errors import UserMistake

    wrong = []
    if page.suffix.lower() not in (".html", ".htm"):
        wrong.append(f"{page}: give a name with the ending .html; the .pdf goes beside it")
    places = [page, page.with_suffix(".pdf")]
    if folder is not None:
        if folder.exists() and not folder.is_dir():
            wrong.append(f"{folder} is a file; give a folder to --settings")
        elif not folder.parent.is_dir():
            wrong.append(f"the folder {folder.parent} does not exist; make it, or give another")
        else:
            places += [folder / name for name in names]
    for path in places:
        try:
            if path.parent.is_dir() or path.parent != folder:
                options.check_output(path)
        except UserMistake as mistake:
            wrong.append(str(mistake))
        if path.exists() and not path.is_dir() and not replace:
            wrong.append(f"{path} is there already; add --replace, or write elsewhere")
    if wrong:
        raise UserMistake("\n".join(dict.fromkeys(wrong)))


def _given(
    tolerances: tuple[str, ...], hazard: str | None, digest: str
) -> tuple[list[Limit], ClearArea | None]:
    """Read limits and clear area, with all mistakes at once."""
    from sim.errors import UserMistake
    from sim.report.card.given import read_clear_area, read_limits

    limits, area, wrong = [], None, []
    try:
        limits = read_limits([Path(name) for name in tolerances], digest)
    except UserMistake as mistake:
        wrong.append(str(mistake))
    if hazard is not None:
        try:
            area = read_clear_area(Path(hazard), digest)
        except UserMistake as mistake:
            wrong.append(str(mistake))
    if wrong:
        raise UserMistake("\n".join(wrong))
    return limits, area
