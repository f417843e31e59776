"""Confirm a pack, and a seal over it, with the standard library alone, by the recipe of shared/exchange.md.

python verifier.py FILE.weldpack [SEAL CODE]
"""

import gzip
import hashlib
import json
import sys

DIGITS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def canonical(value: object) -> bytes:
    """RFC 8785, for what entries hold: text, whole numbers, booleans, lists, objects."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def base32(data: bytes, signs: int) -> str:
    """The first 5 x `signs` bits of a SHA-256 in Crockford's digits."""
    number = int.from_bytes(hashlib.sha256(data).digest(), "big") >> (256 - 5 * signs)
    return "".join(DIGITS[number >> 5 * place & 31] for place in reversed(range(signs)))


def entries(path: str) -> dict[tuple[str, int], tuple[str, dict]]:
    """Every entry by device and sequence, its hash recomputed, each linked to the one before."""
    with gzip.open(path) as file:
        *lines, end = file.read().splitlines(keepends=True)
    assert json.loads(end)["sha256"] == hashlib.sha256(b"".join(lines)).hexdigest(), (
        "cut or altered"
    )
    found = {}
    for line in map(json.loads, lines):
        if line["line"] == "entry":
            says = json.loads(line["body"])
            assert hashlib.sha256(line["body"].encode()).hexdigest() == line["hash"], line["hash"]
            assert canonical(says).decode() == line["body"], "not canonical"
            found[says["device"], says["seq"]] = line["hash"], says
    for (device, seq), (_hash, says) in found.items():
        before = found[device, seq - 1][0] if seq > 1 else "0" * 64
        assert says["prev"] == before, f"{device} {seq} does not follow"
    return found


def seal_holds(found: dict, code: str) -> bool:
    """Whether the seal with this code is there, makes that code, and every head it names is there."""
    for _hash, says in found.values():
        if says["kind"] == "seal" and says["payload"]["code"] == code:
            seal = says["payload"]
            heads = sorted([h["device"], h["seq"], h["hash"]] for h in seal["heads"])
            shown = {name: seal[name] for name in ("name", "label", "entries", "counts")} | seal[
                "seen"
            ]
            statement = canonical({"weldcal_seal": 1, "job": says["job"], "heads": heads} | shown)
            signs = base32(statement, 20)
            signs += base32(b"weldcal code " + signs.encode(), 4)
            there = all(found.get((d, s), [""])[0] == h for d, s, h in heads)
            return there and signs == code.replace("-", "")
    return False


if __name__ == "__main__":
    record = entries(sys.argv[1])
    print(f"{len(record)} entries: every hash and link holds.")
    for given in sys.argv[2:]:
        print(given, "holds" if seal_holds(record, given) else "DOES NOT HOLD")
