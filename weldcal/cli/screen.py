"""How the screen is written for whoever reads it: kept on this device.

Invariant: it changes what is shown on a terminal, never what is recorded, in
JSON or in a pipe.
"""

# Not postponed: typer takes the annotations as types, and reading them from text takes time.

from typing import Any

from weldcal import settings
from weldcal.cli.parse import JSON, argument
from weldcal.cli.shell import print_json, say, single
from weldcal.errors import NotAChoice, ScreenNotKept, reason
from weldcal.reports import show
from weldcal.words import _, mark

_MEANT = {
    "plain": mark("Plain: tables, drawings and colours where they fit."),
    "high-contrast": mark(
        "High contrast: no colour and no grey; bold and reverse, for bright light."
    ),
    "linear": mark("Linear: a sentence a line, no tables and no drawings, for a screen reader."),
}


def chosen(name: str, text: str) -> str:
    """A way as typed.

    Raises:
        NotAChoice: there is none such.
    """
    if text not in settings.SCREENS:
        raise NotAChoice(name=name, text=text, allowed=", ".join(settings.SCREENS))
    return text


def as_asked(_ctx: Any, _param: Any, value: str | None) -> str | None:
    """What `--screen` says counts from here on; what the environment says must be one."""
    if value is not None:
        settings.use_screen(chosen("--screen", value))
    elif odd := settings.odd_screen():
        chosen("WELDCAL_SCREEN", odd)
    return value


@single
def screen(
    name: str = argument(
        _("plain, high-contrast or linear."),
        lambda ctx, incomplete: [n for n in settings.SCREENS if n.startswith(incomplete)],
        default=None,
    ),
    as_json: bool = JSON,
) -> None:
    """Say how this device writes on its screen: plain, high-contrast, or linear for a screen reader. Example: weldcal screen linear"""
    if name is not None:
        _keep(chosen(_("screen"), name))
        settings.use_screen(name)
    now = settings.screen()
    if as_json:
        print_json({"screen": now})
        return
    say(_(_MEANT[now]))


def _keep(name: str) -> None:
    path = settings.screen_file()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"{name}\n", "utf-8")
    except OSError as error:
        raise ScreenNotKept(file=show.safe(path), why=reason(error), screen=name) from None
