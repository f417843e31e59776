"""The guided day as a command: for somebody else than the job's list says."""

from __future__ import annotations

import typer

from weldcal.cli import guide
from weldcal.cli.parse import option
from weldcal.cli.shell import PLACE, single
from weldcal.errors import NotAChoice
from weldcal.records.draft import ROLES
from weldcal.words import _


@single
def day(
    ctx: typer.Context,
    role: str = option(
        "--for", _("operator, inspector or foreman; as the job lists you if not given.")
    ),
) -> None:
    """Ask through the day, one thing at a time; weldcal alone does the same. Example: weldcal day --for inspector"""
    wanted = (role or "").strip().casefold()
    role_meant = next((one for one in ROLES if wanted in (one, _(one).casefold())), None)
    if role and role_meant is None:
        raise NotAChoice(name="--for", text=role, allowed=", ".join(_(one) for one in ROLES))
    raise typer.Exit(guide.open_day(guide.DayBook(*ctx.find_root().meta[PLACE]), role_meant))
