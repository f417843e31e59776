"""The script a shell needs so that Tab completes commands and names."""

from __future__ import annotations

import typer

from weldcal.cli.shell import Command, single
from weldcal.errors import NotAChoice
from weldcal.words import _, mark

completion = single()

# Where each shell looks for it.
_PLACES = {
    "bash": mark('Put this line at the end of ~/.bashrc: eval "$(weldcal completion bash)"'),
    "zsh": mark('Put this line in ~/.zshrc, after compinit: eval "$(weldcal completion zsh)"'),
    "fish": mark("Type once: weldcal completion fish > ~/.config/fish/completions/weldcal.fish"),
}


def _shells(ctx: typer.Context, incomplete: str) -> list[str]:
    return list(_PLACES)


@completion.command(cls=Command)
def completion_(
    shell: str = typer.Argument(..., help=_("bash, zsh or fish."), autocompletion=_shells),
) -> None:
    """Print the script by which Tab completes commands and the book's names in your shell. Example: weldcal completion bash"""
    if shell not in _PLACES:
        raise NotAChoice(name=_("shell"), text=shell, allowed=", ".join(_PLACES))
    from typer import completion as typers

    script = typers.get_completion_script(  # type: ignore[attr-defined]
        prog_name="weldcal", complete_var="_WELDCAL_COMPLETE", shell=shell
    )
    print(f"# {_(_PLACES[shell])}")
    print(script)


APPS = {"completion": completion}
