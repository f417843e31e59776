"""Check a record of welded laps with Python's standard library alone.

    python check_record.py RECORD.weldpack [SEAL CODE] [--key PUBLIC_KEY] [--es]

RECORD is the file that `weldcal pack` writes. SEAL CODE and PUBLIC_KEY stand on the paper
that left the crew's hands. Exit code 0: all holds; 1: something does not; 2: not readable.

It shows any change made after a seal left the crew's hands. It does not show that what
was recorded is true, nor who typed it, nor what was recorded after the seal and cut off.
With --es it speaks Spanish; so it does where LC_ALL, LC_MESSAGES or LANG begins with es.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import os
import sys
import zlib
from collections import Counter
from typing import Any

DIGITS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
FIRST = "0" * 64
MOST_BYTES = 4 * 2**30
Entry = dict[str, Any]


UNTYPED = "No seal code was typed: whoever owns the device could have made all of it anew."
SPANISH = {
    "photo {0} is not what it was": "la foto {0} no es la que era",
    "the file is cut or altered: its last line does not match the rest": "el archivo está cortado o alterado: su última línea no corresponde al resto",
    "photo {0} of entry {1} is not in the file": "la foto {0} de la entrada {1} no está en el archivo",
    "line {0}: entry {1} was changed: its hash does not fit": "línea {0}: la entrada {1} fue cambiada: su hash no corresponde",
    "line {0}: entry {1} is not in canonical form": "línea {0}: la entrada {1} no está en forma canónica",
    "device {0}: entries before {1} are missing": "dispositivo {0}: faltan entradas antes de la {1}",
    "device {0}: entry {1} does not follow from the one before it": "dispositivo {0}: la entrada {1} no sigue a la anterior",
    "device {0}: the count of entry {1} goes back: backdated": "dispositivo {0}: la cuenta de la entrada {1} retrocede: antedatada",
    "device {0}: two entries {1}: a fork that nobody settled": "dispositivo {0}: dos entradas {1}: una bifurcación que nadie resolvió",
    "two entries have the id {0}: one is a changed copy": "dos entradas tienen el id {0}: una es una copia cambiada",
    "{0}: its code is not that of what it says": "{0}: su código no es el de lo que dice",
    "{0}: entry {1} of device {2}, which it seals, is gone": "{0}: la entrada {1} del dispositivo {2}, que sella, ya no está",
    "{0}: it seals {1} entries; not all of them are here": "{0}: sella {1} entradas; no están todas",
    "{0}: its signature is not of this seal": "{0}: su firma no es de este sello",
    "seal {0}": "sello {0}",
    "no seal with this code: a misread code, or not the record that was sealed": "ningún sello con este código: un código mal leído, o no es el registro que se selló",
    "Seal {0}, {1}, made {2} by {3}": "Sello {0}, {1}, hecho {2} por {3}",
    "It seals {0} entries; last of each device: {1}.": "Sella {0} entradas; la última de cada dispositivo: {1}.",
    "Signed with key {0}": "Firmado con la clave {0}",
    "Not signed.": "Sin firma.",
    "Recorded since: {0}; of what was sealed, corrected or taken back: {1}.": "Registradas desde entonces: {0}; de lo sellado, corregidas o retiradas: {1}.",
    "the seal is not signed with the key on the paper": "el sello no está firmado con la clave del papel",
    "This is no record that can be read: {0}": "Esto no es un registro que se pueda leer: {0}",
    "WRONG: {0}": "MAL: {0}",
    "{0} entries; the record ends at: {1}": "{0} entradas; el registro termina en: {1}",
    "DOES NOT HOLD.": "NO SE SOSTIENE.",
    "Every hash, link, count, photo and seal holds.": "Se sostienen todos los hashes, enlaces, cuentas, fotos y sellos.",
    UNTYPED: "No se escribió ningún código de sello: quien tiene el dispositivo pudo haberlo hecho todo de nuevo.",
    "nothing in it": "no hay nada",
}
LANGUAGE = ["en"]


def say(text: str, *values: object) -> str:
    """A sentence with its values, in the reader's language."""
    return (SPANISH[text] if LANGUAGE[0] == "es" else text).format(*values)


def set_language(words: list[str]) -> None:
    """Spanish if asked for, or if the environment speaks it."""
    named = next(filter(None, map(os.environ.get, ("LC_ALL", "LC_MESSAGES", "LANG"))), "")
    LANGUAGE[0] = "es" if "--es" in words or named.startswith("es") else "en"


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
        raise ValueError(say("nothing in it"))
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
                wrong.append(say("photo {0} is not what it was", line["sha256"][:12]))
    if end.get("sha256") != total.hexdigest() or number != len(lines):
        wrong.append(say("the file is cut or altered: its last line does not match the rest"))
    found = [one for one in entries if one]
    wrong += [
        say("photo {0} of entry {1} is not in the file", photo["sha256"][:12], one["id"])
        for one in found
        for photo in one["payload"].get("photos", [])
        if photo["sha256"] not in photos
    ]
    return found, wrong


def entry_of(line: Entry, number: int, wrong: list[str]) -> Entry:
    """What an entry says; empty where it is not as it was made."""
    says = json.loads(line["body"])
    if sha256(line["body"].encode()) != line["hash"]:
        text = "line {0}: entry {1} was changed: its hash does not fit"
        wrong.append(say(text, number, says.get("id")))
    elif canonical(says) != line["body"].encode():
        wrong.append(say("line {0}: entry {1} is not in canonical form", number, says.get("id")))
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
            wrong.append(say("device {0}: entries before {1} are missing", device, seq))
        for one in here if before else []:
            if one["prev"] not in before:
                text = "device {0}: entry {1} does not follow from the one before it"
                wrong.append(say(text, device, seq))
            elif one["tick"] <= before[one["prev"]]:
                text = "device {0}: the count of entry {1} goes back: backdated"
                wrong.append(say(text, device, seq))
        branches = {one["hash"] for one in here}
        if len({one["prev"] for one in here}) < len(here) and not any(
            (s["device"], s["seq"]) == (device, seq) and branches <= set(s["hashes"])
            for s in settled
        ):
            text = "device {0}: two entries {1}: a fork that nobody settled"
            wrong.append(say(text, device, seq))
    twice = [name for name, n in Counter(one["id"] for one in entries).items() if n > 1]
    copied = "two entries have the id {0}: one is a changed copy"
    return wrong + [say(copied, name) for name in twice]


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
    paper, message = seal["payload"], statement(seal)
    name = say("seal {0}", paper["name"])
    signs = base32(message, 20)
    signs += base32(b"weldcal code " + signs.encode(), 4)
    wrong = []
    if signs != paper["code"].replace("-", ""):
        wrong.append(say("{0}: its code is not that of what it says", name))
    known = {one["hash"] for one in entries}
    wrong += [
        say(
            "{0}: entry {1} of device {2}, which it seals, is gone",
            name,
            head["seq"],
            head["device"],
        )
        for head in paper["heads"]
        if head["hash"] not in known
    ]
    if len(sealed_by(seal, entries)) != paper["entries"]:
        text = "{0}: it seals {1} entries; not all of them are here"
        wrong.append(say(text, name, paper["entries"]))
    if paper.get("signature") and not signed(paper["key"], paper["signature"], message):
        wrong.append(say("{0}: its signature is not of this seal", name))
    return wrong


# -- Ed25519 (RFC 8032, section 5.1) ---------------------------------------------------

P = 2**255 - 19
Q = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, -1, P) % P
ROOT = pow(2, P // 4, P)  # of -1
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
    square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
    x = pow(square, P // 8 + 1, P)
    if (x * x - square) % P:
        x = x * ROOT % P
    if y >= P or (x * x - square) % P or (x == 0 and odd):
        raise ValueError("no point")
    x = P - x if x & 1 != odd else x
    return x, y, 1, x * y % P


BASE = point_of(bytes.fromhex("58" + "66" * 31))


def signed(key: str, signature: str, message: bytes) -> bool:
    """Whether a signature is of that statement by that key."""
    try:
        public, made = bytes.fromhex(key), bytes.fromhex(signature)
        owner, r = point_of(public), point_of(made[:32])
        s = int.from_bytes(made[32:], "little")
        if len(made) != 64 or len(public) != 32 or s >= Q:
            return False
    except ValueError:
        return False
    mixed = hashlib.sha512(made[:32] + public + message).digest()
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
        text = "no seal with this code: a misread code, or not the record that was sealed"
        return [], [say(text)]
    seal, paper = found[0], found[0]["payload"]
    inside = sealed_by(seal, entries)
    ids = {one["id"] for one in entries if one["hash"] in inside}
    later = [one for one in entries if one["hash"] not in inside and one is not seal]
    changed = [one for one in later if one["kind"] == "amend" and one["about"] in ids]
    heads = ", ".join(f"{head['device']} {head['seq']}" for head in paper["heads"])
    seen = paper["seen"]
    lines = [
        say(
            "Seal {0}, {1}, made {2} by {3}", paper["name"], paper["label"], seen["at"], seen["by"]
        ),
        say("It seals {0} entries; last of each device: {1}.", paper["entries"], heads),
        say("Signed with key {0}", paper["key"]) if paper.get("signature") else say("Not signed."),
        say(
            "Recorded since: {0}; of what was sealed, corrected or taken back: {1}.",
            len(later),
            len(changed),
        ),
    ]
    if key and (not paper.get("signature") or paper["key"] != "".join(key.split()).lower()):
        return lines, [say("the seal is not signed with the key on the paper")]
    return lines, []


def plain(text: str) -> str:
    """Text with the signs a terminal obeys shown as their number."""
    return "".join(s if s.isprintable() else f"<U+{ord(s):04X}>" for s in text)


def last_of(entries: list[Entry]) -> str:
    """The last entry of each device, and its time."""
    ends = {one["device"]: one for one in sorted(entries, key=lambda one: one["seq"])}
    return ", ".join(f"{name} {one['seq']} ({one['at']})" for name, one in sorted(ends.items()))


def main(words: list[str]) -> int:
    """Check a file; the exit code."""
    set_language(words)
    words = [word for word in words if word != "--es"]
    key = ""
    if "--key" in words[:-1]:
        at = words.index("--key")
        key = words[at + 1]
        words = words[:at] + words[at + 2 :]
    asked = any(word in ("-h", "--help") for word in words)
    if asked or len(words) not in (1, 2) or (key and len(words) < 2):
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
        print(plain(say("This is no record that can be read: {0}", error)))
        return 2
    for line in [*lines, *(say("WRONG: {0}", one) for one in wrong + more)]:
        print(plain(line))
    print(plain(say("{0} entries; the record ends at: {1}", len(entries), last_of(entries))))
    holds = "Every hash, link, count, photo and seal holds."
    print(say("DOES NOT HOLD." if wrong + more else holds))
    if len(words) < 2:
        print(say(UNTYPED))
    return 1 if wrong + more else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
