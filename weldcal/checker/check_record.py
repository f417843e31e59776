"""Check a record of welded laps with Python's standard library alone.

    python check_record.py RECORD.weldpack [SEAL CODE] [--key PUBLIC_KEY]

RECORD is the file that `weldcal pack` writes. SEAL CODE and PUBLIC_KEY stand on the paper
that left the crew's hands. Exit code 0: all holds; 1: something does not; 2: not readable.

It shows any change made after a seal left the crew's hands. It does not show that what
was recorded is true, nor who typed it, nor what was recorded after the seal and cut off.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import sys
import zlib
from collections import Counter
from typing import Any

DIGITS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
FIRST = "0" * 64
MOST_BYTES = 4 * 2**30
Entry = dict[str, Any]


def canonical(value: object) -> bytes:
    """RFC 8785, for what entries hold: text, whole numbers, booleans, null, lists, objects."""

    def in_order(part: object) -> object:
        if isinstance(part, dict):
            names = sorted(part, key=lambda name: name.encode("utf-16-be", "surrogatepass"))
            return {name: in_order(part[name]) for name in names}
        return [in_order(one) for one in part] if isinstance(part, list) else part

    text = json.dumps(in_order(value), separators=(",", ":"), ensure_ascii=False)
    return text.encode(errors="surrogatepass")


def sha256(data: bytes) -> str:
    """SHA-256, hex."""
    return hashlib.sha256(data).hexdigest()


def read(path: str) -> tuple[list[Entry], list[str]]:
    """The record's entries (with `hash` beside what they say), and what is wrong with the file."""
    with gzip.open(path) as file:
        text = file.read(MOST_BYTES)
    lines = text.splitlines(keepends=True)
    if not lines:
        raise ValueError("nothing in it")
    wrong: list[str] = []
    entries: list[Entry] = []
    photos: set[str] = set()
    end: Entry = {}
    total, number = hashlib.sha256(), 0
    for number, raw in enumerate(lines, 1):
        line = json.loads(raw)
        if line["line"] == "end":
            end = line
            break
        total.update(raw)
        if line["line"] == "entry":
            entries.append(entry_of(line, number, wrong))
        elif line["line"] == "photo":
            photos.add(line["sha256"])
            if sha256(base64.b64decode(line["data"])) != line["sha256"]:
                wrong.append(f"photo {line['sha256'][:12]} is not what it was")
    if end.get("sha256") != total.hexdigest() or number != len(lines):
        wrong.append("the file is cut or altered: its last line does not match the rest")
    found = [one for one in entries if one]
    wrong += [
        f"photo {photo['sha256'][:12]} of entry {one['id']} is not in the file"
        for one in found
        for photo in one["payload"].get("photos", [])
        if photo["sha256"] not in photos
    ]
    return found, wrong


def entry_of(line: Entry, number: int, wrong: list[str]) -> Entry:
    """What an entry says; empty where it is not as it was made."""
    says = json.loads(line["body"])
    if sha256(line["body"].encode()) != line["hash"]:
        wrong.append(f"line {number}: entry {says.get('id')} was changed: its hash does not fit")
    elif canonical(says) != line["body"].encode():
        wrong.append(f"line {number}: entry {says.get('id')} is not in canonical form")
    else:
        return {**says, "hash": line["hash"]}
    return {}


def check_chain(entries: list[Entry]) -> list[str]:
    """Links, gaps, forks and counts of each device; ids used twice."""
    places: dict[tuple[str, int], list[Entry]] = {}
    for one in entries:
        places.setdefault((one["device"], one["seq"]), []).append(one)
    settled = [one["payload"] for one in entries if one["kind"] == "fork-settled"]
    wrong = []
    for (device, seq), here in sorted(places.items()):
        before = {one["hash"]: one["tick"] for one in places.get((device, seq - 1), [])}
        if seq == 1:
            before = {FIRST: 0}
        if not before:
            wrong.append(f"device {device}: entries before {seq} are missing")
        for one in here if before else []:
            if one["prev"] not in before:
                wrong.append(f"device {device}: entry {seq} does not follow from the one before it")
            elif one["tick"] <= before[one["prev"]]:
                wrong.append(f"device {device}: the count of entry {seq} goes back: backdated")
        branches = {one["hash"] for one in here}
        if len({one["prev"] for one in here}) < len(here) and not any(
            (s["device"], s["seq"]) == (device, seq) and branches <= set(s["hashes"])
            for s in settled
        ):
            wrong.append(f"device {device}: two entries {seq}: a fork that nobody settled")
    twice = [name for name, n in Counter(one["id"] for one in entries).items() if n > 1]
    return wrong + [f"two entries have the id {name}: one is a changed copy" for name in twice]


def base32(data: bytes, signs: int) -> str:
    """The first 5 x `signs` bits of a SHA-256 in Crockford's digits."""
    number = int.from_bytes(hashlib.sha256(data).digest(), "big") >> (256 - 5 * signs)
    return "".join(DIGITS[number >> 5 * place & 31] for place in reversed(range(signs)))


def statement(seal: Entry) -> bytes:
    """What a seal's code and signature stand for."""
    paper = seal["payload"]
    shown = {name: paper[name] for name in ("name", "label", "entries", "counts")}
    shown |= {name: paper["seen"][name] for name in ("at", "by")}
    heads = sorted([head["device"], head["seq"], head["hash"]] for head in paper["heads"])
    return canonical({"weldcal_seal": 1, "job": seal["job"], "heads": heads, **shown})


def sealed_by(seal: Entry, entries: list[Entry]) -> set[str]:
    """Hashes of the entries that a seal covers and this file holds."""
    prev = {one["hash"]: one["prev"] for one in entries}
    found: set[str] = set()
    for head in seal["payload"]["heads"]:
        at = head["hash"]
        while at in prev and at not in found:
            found.add(at)
            at = prev[at]
    return found


def check_seal(seal: Entry, entries: list[Entry]) -> list[str]:
    """What of a seal does not hold."""
    paper, said = seal["payload"], statement(seal)
    name = f"seal {paper['name']}"
    signs = base32(said, 20)
    signs += base32(b"weldcal code " + signs.encode(), 4)
    wrong = []
    if signs != paper["code"].replace("-", ""):
        wrong.append(f"{name}: its code is not that of what it says")
    known = {one["hash"] for one in entries}
    wrong += [
        f"{name}: entry {head['seq']} of device {head['device']}, which it seals, is gone"
        for head in paper["heads"]
        if head["hash"] not in known
    ]
    if len(sealed_by(seal, entries)) != paper["entries"]:
        wrong.append(f"{name}: it seals {paper['entries']} entries; not all of them are here")
    if paper.get("signature") and not signed(paper["key"], paper["signature"], said):
        wrong.append(f"{name}: its signature is not of this seal")
    return wrong


# -- Ed25519 (RFC 8032, section 5.1) ---------------------------------------------------

P = 2**255 - 19
Q = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
ROOT = pow(2, (P - 1) // 4, P)
Point = tuple[int, int, int, int]


def add(a: Point, b: Point) -> Point:
    """The sum of two points of the curve, in extended coordinates."""
    m, n = (a[1] - a[0]) * (b[1] - b[0]) % P, (a[1] + a[0]) * (b[1] + b[0]) % P
    t, z = 2 * a[3] * b[3] * D % P, 2 * a[2] * b[2] % P
    e, f, g, h = n - m, z - t, z + t, n + m
    return e * f % P, g * h % P, f * g % P, e * h % P


def times(n: int, point: Point) -> Point:
    """A point added to itself."""
    total: Point = (0, 1, 1, 0)
    while n:
        total = add(total, point) if n & 1 else total
        point, n = add(point, point), n >> 1
    return total


def point_of(data: bytes) -> Point:
    """The point that 32 bytes name (ValueError if none)."""
    y = int.from_bytes(data, "little")
    odd, y = y >> 255, y & (2**255 - 1)
    square = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * ROOT % P
    if y >= P or (x * x - square) % P or (x == 0 and odd):
        raise ValueError("no point")
    x = P - x if x & 1 != odd else x
    return x, y, 1, x * y % P


BASE = point_of((4 * pow(5, P - 2, P) % P).to_bytes(32, "little"))


def signed(key: str, signature: str, said: bytes) -> bool:
    """Whether a signature is of that statement by that key."""
    try:
        public, made = bytes.fromhex(key), bytes.fromhex(signature)
        owner, r = point_of(public), point_of(made[:32])
        s = int.from_bytes(made[32:], "little")
        if len(made) != 64 or len(public) != 32 or s >= Q:
            return False
    except ValueError:
        return False
    mixed = hashlib.sha512(made[:32] + public + said).digest()
    a, b = times(s, BASE), add(r, times(int.from_bytes(mixed, "little") % Q, owner))
    return (a[0] * b[2] - b[0] * a[2]) % P == 0 and (a[1] * b[2] - b[1] * a[2]) % P == 0


# -- what is said -----------------------------------------------------------------------


def report(entries: list[Entry], code: str, key: str) -> tuple[list[str], list[str]]:
    """What a seal on paper shows of this record: lines, and what is wrong."""
    signs = "".join(sign for sign in code.upper() if sign.isalnum())
    signs = signs.translate(str.maketrans("OIL", "011"))
    seals = [one for one in entries if one["kind"] == "seal"]
    found = [one for one in seals if one["payload"]["code"].replace("-", "") == signs]
    if not found:
        return [], ["no seal with this code: a misread code, or not the record that was sealed"]
    seal, paper = found[0], found[0]["payload"]
    inside = sealed_by(seal, entries)
    ids = {one["id"] for one in entries if one["hash"] in inside}
    later = [one for one in entries if one["hash"] not in inside and one is not seal]
    changed = [one for one in later if one["kind"] == "amend" and one["about"] in ids]
    heads = ", ".join(f"{head['device']} {head['seq']}" for head in paper["heads"])
    lines = [
        f"Seal {paper['name']}, {paper['label']}, made {paper['seen']['at']} by {paper['seen']['by']}",
        f"It seals {paper['entries']} entries; last of each device: {heads}.",
        f"Signed with key {paper['key']}" if paper.get("signature") else "Not signed.",
        f"Recorded since: {len(later)}; of what was sealed, corrected or taken back: {len(changed)}.",
    ]
    if not key:
        return lines, []
    if not paper.get("signature") or paper["key"] != "".join(key.split()).lower():
        return lines, ["the seal is not signed with the key on the paper"]
    return lines, []


def plain(text: str) -> str:
    """Text with the signs a terminal obeys shown as their number."""
    return "".join(s if s.isprintable() else f"<U+{ord(s):04X}>" for s in text)


def main(words: list[str]) -> int:
    """Check a file; the exit code."""
    key = ""
    if "--key" in words[:-1]:
        at = words.index("--key")
        key = words[at + 1]
        words = words[:at] + words[at + 2 :]
    if len(words) not in (1, 2) or (key and len(words) < 2):
        print(__doc__)
        return 2
    try:
        entries, wrong = read(words[0])
        wrong += check_chain(entries)
        for one in entries:
            wrong += check_seal(one, entries) if one["kind"] == "seal" else []
        lines, more = report(entries, words[1], key) if len(words) > 1 else ([], [])
    except (
        OSError,
        EOFError,
        zlib.error,
        ValueError,
        KeyError,
        TypeError,
        AttributeError,
    ) as error:
        print(f"This is no record that can be read: {plain(str(error))}")
        return 2
    for line in [*lines, *(f"WRONG: {one}" for one in wrong + more)]:
        print(plain(line))
    ends: dict[str, Entry] = {}
    for one in entries:
        if one["seq"] >= ends.get(one["device"], one)["seq"]:
            ends[one["device"]] = one
    told = ", ".join(f"{name} {one['seq']} ({one['at']})" for name, one in sorted(ends.items()))
    print(plain(f"{len(entries)} entries; the record ends at: {told}"))
    print("DOES NOT HOLD." if wrong + more else "Every hash, link, count, photo and seal holds.")
    return 1 if wrong + more else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
