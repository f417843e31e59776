"""A command line that cannot be understood: what was meant, most likely.

Invariant: one sentence of ours for each way of mistyping, with what to type
instead; nothing here is loaded while the line is right.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any

from weldcal.cli import help as pages
from weldcal.errors import Mistyped, WeldcalError
from weldcal.records.examples import in_metres
from weldcal.words import _, mark


class _NoSuch(Mistyped):
    """There is no such word; `near` is what may have been meant."""

    lost: str

    def __str__(self) -> str:
        return _(self.sentence if self.values["near"] else self.lost, **self.values)


class NoCommand(_NoSuch):
    """No such command."""

    sentence = mark("No command {text!r}. Did you mean: {near}? See them all: {path} --help.")
    lost = mark("No command {text!r}. See them all: {path} --help.")


class NoOption(_NoSuch):
    """No such option."""

    sentence = mark("No option {option} here. Did you mean: {near}? See them all: {path} --help.")
    lost = mark("No option {option} here. See them all: {path} --help.")


class ReadAsOption(Mistyped):
    """A negative number, which reads as an option."""

    sentence = mark(
        "{text} reads as an option. Type the options first, then --, then the values, like: weldcal amend --why slip -- S1 ambient -5C"
    )


class NeedsValue(Mistyped):
    """An option at the end of the line, without its value."""

    sentence = mark("{option} needs a value ({means}). Type it like: {example}")


class MissingWord(Mistyped):
    """A word of the command left out."""

    sentence = mark("{name} is missing ({means}). Type it like: {example}")


class TooMany(Mistyped):
    """More words than the command takes."""

    sentence = mark(
        "{text!r} is a word too many; a name of several words goes in quotes. Type it like: {example}"
    )


# What people call it -> the command. Words in the reader's language count as well as these.
_ALSO = {
    "strip record": mark("record, log, test, try, new, trial"),
    "strip pull": mark("pull, tear"),
    "seam start": mark("weld, start, begin, run"),
    "seam finish": mark("finish, stop, end, done"),
    "seam add": mark("seams, add"),
    "dial": mark("speed, advise, advice, setting, settings"),
    "board": mark("screen, watch, dashboard"),
    "conditions": mark("weather, temperature, temp, wind"),
    "go-ahead": mark("ready, ok, go, release, approved"),
    "probe": mark("inspect, inspection, walk, log, test"),
    "finding": mark("defect, flaw, problem, fault, void, report, photo"),
    "mend": mark("repair, patch, fix"),
    "roof": mark("status, state, map, plan, list, show, seams"),
    "roof lay": mark("layout, draw, lay"),
    "day": mark("guide, guided, questions"),
    "evening": mark("report, today, day, summary, tomorrow"),
    "dossier": mark("report, warranty, print, pdf"),
    "amend": mark("correct, edit, change, fix"),
    "undo": mark("delete, remove, cancel, withdraw, back"),
    "trace": mark("search, look, find, seam"),
    "me": mark("check-in, checkin, login, user, who, whoami"),
    "hotwork start": mark("fire, permit, check-in, hot-work"),
    "hotwork watch": mark("watch, firewatch"),
    "pack": mark("sync, share, send, upload"),
    "merge": mark("sync, receive, import, unpack, download"),
    "job new": mark("init, create, project, setup"),
    "limit list": mark("limits, rules, config"),
    "machine drift": mark("drift, calibrate, calibration"),
    "power": mark("voltage, volts, cord, cable, generator"),
    "leak": mark("water"),
    "startup": mark("checklist, before"),
    "look record": mark("yearly, annual, maintenance"),
    "punch add": mark("visit, item, snag, remark"),
    "roll add": mark("lot, material, pallet"),
    "substrate": mark("deck, primer, base, dry"),
    "route": mark("next, walk, where, order, way"),
    "seal": mark("save, sign, lock"),
    "check": mark("dew, check-in"),
    "export": mark("csv, excel, spreadsheet"),
    "--help": mark("help, man, commands, version"),
}
# Sub-commands that mean much the same.
_ALIKE = (
    {"add", "new", "record", "log", "create", "make", "start", "begin", "set", "write"},
    {"list", "show", "ls", "view", "status", "print", "drift"},
    {"finish", "end", "stop", "done", "close", "pull", "watch"},
    {"load", "import", "read", "open", "use", "switch", "select"},
)
_OPTIONS_ALSO = {
    "--by": {"--who", "--user", "--name", "--person", "--operator", "--inspector"},
    "--at": {"--when", "--time", "--date", "--day"},
    "--nozzle": {"--temp", "--temperature", "--heat"},
    "--ambient": {"--temp", "--temperature", "--air"},
    "--sheet-temp": {"--temp", "--temperature", "--surface"},
    "--bleed": {"--width", "--readings", "--bleed-out", "--bleedout"},
    "--note": {"--comment", "--notes", "--text", "--remark", "--message"},
    "--photo": {"--picture", "--image", "--file"},
    "--why": {"--reason", "--because"},
    "--from": {"--start"},
    "--to": {"--end", "--stop"},
    "--bond": {"--pull"},
    "--line-voltage": {"--voltage", "--volts", "--power"},
    "--help": {"-h", "-?", "--usage"},
}
_MOST = 4


def no_command(group: Any, ctx: Any, word: str) -> WeldcalError:
    """No such command: those that may have been meant."""
    near = _near_first(group, ctx, word) if ctx.parent is None else _near_inside(group, ctx, word)
    return NoCommand(path=ctx.command_path, text=word, near=_typed_out(near[:_MOST], ctx))


def _near_first(group: Any, ctx: Any, word: str) -> list[str]:
    """Commands that people call so; the second word of two-word commands; else what is spelt nearly so."""
    means: dict[str, list[str]] = {name: [name] for name in group.list_commands(ctx)}
    for command, also in _ALSO.items():
        for called in dict.fromkeys([*also.split(", "), *_(also).split(", ")]):
            means.setdefault(called, []).append(command)
    for first, command in pages.commands(group, ctx):
        for second in command.list_commands(ctx) if hasattr(command, "list_commands") else ():
            means.setdefault(second, [f"{first} {second}"])
    wanted = word.lower()
    close = [wanted] if wanted in means else get_close_matches(wanted, means, n=1, cutoff=0.7)
    return list(dict.fromkeys(command for called in close for command in means[called]))


def _near_inside(group: Any, ctx: Any, word: str) -> list[str]:
    """By spelling, then by meaning; the group's path before each."""
    named = group.list_commands(ctx)
    wanted = word.lower()
    near = get_close_matches(wanted, named, n=2) or [
        name for name in named for alike in _ALIKE if {name, wanted} <= alike
    ]
    path = ctx.command_path.partition(" ")[2]
    return [f"{path} {name}" for name in dict.fromkeys(near)]


def _typed_out(near: Iterable[str], ctx: Any) -> str:
    """As typed after the program's name, several separated by commas."""
    root = ctx.find_root().command_path
    return ", ".join(f"{root} {name}" for name in near)


def needs_value(param: Any, option: str, command: Any, ctx: Any) -> WeldcalError:
    """An option at the end of the line, without its value."""
    return NeedsValue(
        path=ctx.command_path,
        option=option,
        means=_means(param, ctx),
        example=_in_units(_with_value(param, option, _example(command, ctx)), ctx),
    )


def missing(param: Any, command: Any, ctx: Any) -> WeldcalError:
    """A word of the command left out."""
    return MissingWord(
        path=ctx.command_path,
        name=pages.typed(param),
        means=_means(param, ctx),
        example=_in_units(_example(command, ctx), ctx),
    )


def too_many(words: list[str], command: Any, ctx: Any) -> WeldcalError:
    """More words than the command takes."""
    return TooMany(
        path=ctx.command_path, text=words[0], example=_in_units(_example(command, ctx), ctx)
    )


def no_option(option: str, command: Any, ctx: Any) -> WeldcalError:
    """No such option: those that may have been meant."""
    if re.fullmatch(r"-[\d.]", option):
        return ReadAsOption(text=option)
    named = [name for p in command.get_params(ctx) for name in p.opts if name.startswith("-")]
    called = [name for name in named if option in _OPTIONS_ALSO.get(name, ())]
    near = called or get_close_matches(option, named, n=2, cutoff=0.65)
    return NoOption(path=ctx.command_path, option=option, near=", ".join(near))


def _means(param: Any, ctx: Any) -> str:
    return _in_units(_(param.help).rstrip("."), ctx) if param.help else str(param.name)


def _with_value(param: Any, option: str, example: str) -> str:
    """The command's example where it shows the option, else the option as its help shows it."""
    shown = re.search(r", like (\"[^\"]*\"|[^\s,;]+)", param.help or "")
    if option in example.split() or shown is None:
        return example
    return f"{option} {shown[1].rstrip('.')}"


def _example(command: Any, ctx: Any) -> str:
    return pages.example(command, ctx) or f"{ctx.command_path} --help"


def _in_units(text: str, ctx: Any) -> str:
    """What help shows to type, in the units of the job; where there is none, as it stands."""
    try:
        units = ctx.obj.job.units
    except (AttributeError, WeldcalError):
        return text
    return text if units == "us" else in_metres(text)
