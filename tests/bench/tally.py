"""Tables from the rows of the judged mornings.

Invariant: the predeclared primary rows come first; every difference is paired by roof
and carries a 95 % interval (normal, over roofs). Nothing is left out because a peer
won there.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator

import numpy as np

Row = dict[str, object]
Values = dict[int, float]  # by roof

STEPS = ((0.0, 5.0), (5.0, 15.0), (15.0, 99.0))
AIMS = {0: (0.06, 0.06, 0.4), 20: (0.03, 0.03, 0.2)}  # first good, 2 p.m. good, strips


def report(rows: list[Row], checks: list[Row], subject: str = "weldcal") -> str:
    """Every table as one text."""
    methods = list(dict.fromkeys(str(r["method"]) for r in rows))
    if subject not in methods:
        subject = methods[0]
    parts = [
        _title("PRIMARY: good at 2 p.m. after the morning, no new strip"),
        *_compare(rows, methods, subject, "pm_good", ((0, False), (20, False))),
        _title("Distance to the oracle (subject against it, paired)"),
        *_distance(rows, subject),
        _title("Good at 2 p.m., the other histories"),
        *_compare(rows, methods, subject, "pm_good", ((5, False), (5, True), (20, True))),
        _title("First advice good"),
        *_compare(
            rows, methods, subject, "good0", ((0, False), (5, False), (20, False), (20, True))
        ),
        _title(
            "Strips to a setting truly good (7: never in 6; a lucky pass counts one strip more)"
        ),
        *_compare(
            rows, methods, subject, "to_good", ((0, False), (5, False), (20, False), (20, True))
        ),
        _title(
            "Go-aheads: share of mornings, strips, false (passed by luck), 2 p.m. good without those"
        ),
        *_by_arm(rows, methods, _go_aheads),
        _title("Sure: before any strip, after one strip; wrong at the first sure advice; 2 p.m."),
        *_by_arm(rows, methods, _sure),
        _title(
            "Joint chance said for the advice, and how often it was good (first, after one, 2 p.m.)"
        ),
        *_by_arm(rows, methods, _chances),
        _title("90 % interval for the next strip's median reading (aim 0.88 to 0.92)"),
        *_by_arm(checks, methods, _coverage),
        _title("Bubbling at the strip run: Brier score (and of the base rate), reliability"),
        *_by_arm(checks, methods, _bubbling),
        _title("Seconds a morning (median)"),
        *_seconds(rows, methods),
    ]
    return "\n".join(parts)


def _title(text: str) -> str:
    return f"\n## {text}"


def _arms(rows: list[Row]) -> list[tuple[str, int, bool]]:
    arms = {(str(r["kind"]), int(r["days"]), bool(r["corrupted"])) for r in rows}  # type: ignore[call-overload]
    return sorted(arms, key=lambda a: (a[1], a[2], a[0] != "wide"))


def _label(kind: str, days: int, corrupted: bool) -> str:
    return f"{kind}, {days} days{', corrupted' if corrupted else ''}"


def _pick(rows: Iterable[Row], **want: object) -> list[Row]:
    return [r for r in rows if all(r[k] == v for k, v in want.items())]


def _values(rows: Iterable[Row], column: str) -> Values:
    return {int(r["roof"]): float(r[column]) for r in rows}  # type: ignore[call-overload, arg-type]


def mean_interval(values: np.ndarray) -> tuple[float, float]:
    """Mean and half width of its 95 % interval."""
    half = 1.96 * values.std(ddof=1) / np.sqrt(len(values)) if len(values) > 1 else np.nan
    return float(values.mean()), float(half)


def _paired(a: Values, b: Values) -> np.ndarray:
    return np.array([a[k] - b[k] for k in a.keys() & b.keys()])


def _compare(
    rows: list[Row],
    methods: list[str],
    subject: str,
    column: str,
    arms: tuple[tuple[int, bool], ...],
) -> list[str]:
    lines = []
    for kind, days, corrupted in _arms(rows):
        if (days, corrupted) not in arms:
            continue
        here = _pick(rows, kind=kind, days=days, corrupted=corrupted)
        mine = _values(_pick(here, method=subject), column)
        lines.append(f"{_label(kind, days, corrupted)}")
        for method in methods:
            theirs = _values(_pick(here, method=method), column)
            if not theirs:
                continue
            mean, half = mean_interval(np.array(list(theirs.values())))
            text = f"  {method:13s} {mean:6.3f} ±{half:.3f}  n={len(theirs)}"
            if method != subject:
                gap, gap_half = mean_interval(_paired(mine, theirs))
                text += f"   {subject} minus it {gap:+.3f} ±{gap_half:.3f}"
            lines.append(text)
    return lines


def _distance(rows: list[Row], subject: str) -> list[str]:
    lines = []
    for kind, days, corrupted in _arms(rows):
        for ceiling in ("oracle", "oracle_prior"):
            here = _pick(rows, kind=kind, days=days, corrupted=corrupted)
            theirs, mine = _pick(here, method=ceiling), _pick(here, method=subject)
            if not theirs:
                continue
            text = f"  {_label(kind, days, corrupted):27s} {ceiling:12s}"
            for i, column in enumerate(("good0", "pm_good", "to_good")):
                gap = _paired(_values(theirs, column), _values(mine, column))
                mean, half = mean_interval(-gap if column == "to_good" else gap)
                text += f"  {column} {mean:+.3f} ±{half:.3f}"
                if days in AIMS:
                    text += f" (aim {AIMS[days][i]})"
            lines.append(text)
    return lines


def _by_arm(
    rows: list[Row], methods: list[str], told: Callable[[list[Row]], Iterable[str]]
) -> list[str]:
    """Under each arm, what is told of each method's rows there; nothing where it has none."""
    lines = []
    for kind, days, corrupted in _arms(rows):
        lines.append(_label(kind, days, corrupted))
        for method in methods:
            here = _pick(rows, kind=kind, days=days, corrupted=corrupted, method=method)
            lines += [f"  {method:13s}{text}" for text in (told(here) if here else ())]
    return lines


def _go_aheads(here: list[Row]) -> Iterator[str]:
    went = [r for r in here if r["go"]]
    false = np.array([float(bool(r["false_go"])) for r in went])
    rate, half = mean_interval(false) if len(false) else (np.nan, np.nan)
    honest = [float(bool(r["pm_good"])) for r in here if not r["false_go"]]
    strips = np.mean([r["strips"] for r in here])  # type: ignore[misc]
    once = [float(bool(r["false_go"])) for r in went if not r["asked_again"]]
    yield (
        f" go-ahead {len(went) / len(here):.3f}  strips {strips:.2f}"
        f"  false {rate:.3f} ±{half:.3f}  2 p.m. good without {np.mean(honest):.3f}"
        f"  one more asked for {1 - len(once) / max(len(went), 1):.3f}"
        f", false of the rest {np.mean(once) if once else np.nan:.3f} (n={len(once)})"
    )


def _sure(here: list[Row]) -> Iterator[str]:
    if here[0]["sure0"] is not None:
        yield (
            _rate(" before", here, "sure0", "good0")
            + _rate("  after one", here, "sure1", "good1")
            + _ever(here)
            + _rate("  2 p.m.", here, "pm_sure", "pm_good")
            + f"  STOP though nothing broke {np.mean([bool(r['stopped']) for r in here]):.3f}"
        )


def _rate(name: str, rows: list[Row], sure: str, good: str) -> str:
    those = [not r[good] for r in rows if r[sure]]
    wrong = f"{np.mean(those):.3f}" if those else "-"
    return f"{name} {len(those) / len(rows):.3f} (wrong {wrong})"


def _ever(rows: list[Row]) -> str:
    those = [bool(r["sure_wrong"]) for r in rows if int(r["sure_at"]) >= 0]  # type: ignore[call-overload]
    if not those:
        return "  ever 0.000 (wrong -)"
    rate, half = mean_interval(np.array(those, float))
    return f"  ever {len(those) / len(rows):.3f} (wrong {rate:.3f} ±{half:.3f})"


def _chances(here: list[Row]) -> Iterator[str]:
    pairs = (("chance0", "good0"), ("chance1", "good1"), ("pm_chance", "pm_good"))
    said = [(r[c], r[g]) for r in here for c, g in pairs if r.get(c) is not None]
    if said:
        p, y = (np.array(a, float) for a in zip(*said, strict=True))
        yield _reliability(p, y, (0.0, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 1.0001))


def _reliability(p: np.ndarray, y: np.ndarray, bins: tuple[float, ...]) -> str:
    text = ""
    for a, b in itertools.pairwise(bins):
        some = (p >= a) & (p < b)
        if some.any():
            text += f"  said {p[some].mean():.2f} was {y[some].mean():.2f} n={some.sum()};"
    return text


def _coverage(here: list[Row]) -> Iterator[str]:
    groups: list[tuple[str, Callable[[Row], bool]]] = [
        ("all", lambda r: True),
        *((s, lambda r, s=s: r["stage"] == s) for s in ("first", "later", "pm")),  # type: ignore[misc]
        *(
            (f"step {a:.0f}-{b:.0f} K", lambda r, a=a, b=b: a <= abs(r["step_c"]) < b)  # type: ignore[misc]
            for a, b in STEPS
        ),
    ]
    for name, keep in groups:
        some = [r for r in here if keep(r)]
        if len(some) > 5:
            yield f" {name:12s} {_interval(some)}"


def _interval(rows: list[Row]) -> str:
    low, high, actual = (
        np.array([r[c] for r in rows], float) for c in ("low_mm", "high_mm", "actual_mm")
    )
    inside, half = mean_interval(((actual >= low) & (actual <= high)).astype(float))
    score = high - low + 20 * (np.maximum(low - actual, 0) + np.maximum(actual - high, 0))
    return (
        f"covers {inside:.3f} ±{half:.3f}  below {np.mean(actual < low):.3f} above {np.mean(actual > high):.3f}"
        f"  median width {np.median(high - low):5.2f} mm"
        f"  interval score {np.mean(score):6.2f} (median {np.median(score):5.2f}) mm  n={len(rows)}"
    )


def _bubbling(here: list[Row]) -> Iterator[str]:
    p, y = (np.array([r[c] for r in here], float) for c in ("p_bubbling", "bubbled"))
    text = f" {np.mean((p - y) ** 2):.4f} ({y.mean() * (1 - y.mean()):.4f})"
    yield text + _reliability(p, y, (0.0, 0.05, 0.15, 0.35, 0.65, 1.0001))


def _seconds(rows: list[Row], methods: list[str]) -> list[str]:
    return [
        f"  {method:13s} "
        + "  ".join(
            f"{days} days {np.median([r['seconds'] for r in _pick(rows, method=method, days=days)]):.3f}"  # type: ignore[arg-type]
            for days in sorted({int(r["days"]) for r in rows if r["method"] == method})  # type: ignore[call-overload]
        )
        for method in methods
    ]
