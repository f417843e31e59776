"""A go-ahead as tests make it, and what is asked of it."""

from __future__ import annotations

from typing import Any

SET = "--nozzle 932 --speed 5.5"


STRIP = f"strip record {SET} --bleed 1/4,3/16,5/16 --bubbling none"


GOOD = f"{STRIP}\n07:10 strip pull S1 good --parted compound"


READ = "--ambient 60F --sheet-temp 70F --wind 5mph --line-voltage 230"


def level(book: Any, time: str, options: str = "") -> str:
    """What `go-ahead` calls for at a time of the day."""
    book.clock.set(time)
    found: str = asked(book, f"go-ahead --json {options}").json["level"]
    return found


def asked(book: Any, line: str = "go-ahead --json") -> Any:
    """The answer, with the exit code that goes with it: 0 for good and look, else 1."""
    done = book(line)
    no = done.out.startswith(("STRIP AGAIN", "WAIT")) or (
        "--json" in line and done.json["level"] in ("strip_again", "wait")
    )
    assert (done.code, done.err) == (int(no), "")
    return done


def rules(book: Any, *, holding: bool = True) -> set[tuple[str, str]]:
    """(code, level) of the rules broken, those over left out."""
    found = asked(book).json["triggers"]
    return {(t["code"], t["level"]) for t in found if t["until_s"] is None or not holding}


def said(book: Any, line: str = "go-ahead") -> str:
    """What a person reads, unfolded."""
    return " ".join((asked(book, line) if line == "go-ahead" else book.ok(line)).out.split())
