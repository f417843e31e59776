"""The script a shell needs so that Tab completes commands and names."""

from __future__ import annotations

import typer

from weldcal.cli.parse import argument
from weldcal.cli.shell import single
from weldcal.errors import NotAChoice
from weldcal.words import _, mark

# Where each shell looks for it.
_PLACES = {
    "bash": mark('Put this line at the end of ~/.bashrc: eval "$(weldcal completion bash)"'),
    "zsh": mark('Put this line in ~/.zshrc, after compinit: eval "$(weldcal completion zsh)"'),
    "fish": mark("Type once: weldcal completion fish > ~/.config/fish/completions/weldcal.fish"),
}

# What asks `complete.tab`, by the names under which scripts already in use ask it.
_SCRIPTS = {
    "bash": """\
_weldcal_tab() {
    local IFS=$'\\n'
    COMPREPLY=( $(COMP_WORDS="${COMP_WORDS[*]}" COMP_CWORD=$COMP_CWORD \\
        _WELDCAL_COMPLETE=complete_bash "$1") )
}
complete -o default -F _weldcal_tab weldcal""",
    "zsh": """\
_weldcal_tab() {
    eval "$(_TYPER_COMPLETE_ARGS="${words[1,$CURRENT]}" _WELDCAL_COMPLETE=complete_zsh weldcal)"
}
compdef _weldcal_tab weldcal""",
    "fish": """\
function __weldcal_tab
    env _WELDCAL_COMPLETE=complete_fish _TYPER_COMPLETE_FISH_ACTION=$argv[1] \\
        _TYPER_COMPLETE_ARGS=(commandline -cp) weldcal
end
complete --command weldcal --no-files --condition "__weldcal_tab is-args" \\
    --arguments "(__weldcal_tab get-args)\"""",
}


def _shells(ctx: typer.Context, incomplete: str) -> list[str]:
    return list(_PLACES)


@single
def completion(
    shell: str = argument(_("bash, zsh or fish."), _shells),
) -> None:
    """Print the script by which Tab completes commands and the book's names in your shell. Example: weldcal completion bash"""
    if shell not in _PLACES:
        raise NotAChoice(name=_("shell"), text=shell, allowed=", ".join(_PLACES))
    print(f"# {_(_PLACES[shell])}")
    print(_SCRIPTS[shell])
