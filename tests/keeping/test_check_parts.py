"""The checker that stands alone: Ed25519 by RFC 8032's own examples, RFC 8785, its languages."""

from __future__ import annotations

import hashlib
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from weldcal.checker import check_record

# RFC 8032 7.1, tests 1 to 3: public key, message, signature.
VECTORS = [
    (
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555f"
        "b8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da08"
        "5ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18"
        "ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
]


@pytest.mark.parametrize(("key", "message", "signature"), VECTORS)
def test_a_signature_holds_for_its_message_and_key_only(
    key: str, message: str, signature: str
) -> None:
    """As published; then one thing changed at a time, a byte more and a byte less among them."""
    said = bytes.fromhex(message)
    signed = check_record.signed
    assert signed(key, signature, said) is True
    turned = f"{int(signature[-2:], 16) ^ 1:02x}"
    other_r, other_s = VECTORS[0][2][:64], VECTORS[1][2][64:]
    for wrong in (
        (key, signature, said + b"\0"),
        (key, signature[:-2] + turned, said),
        (key, signature + "00", said),
        (key, signature[:-2], said),
        (key, signature[:64], said),
        (key + "00", signature, said),
        (key, "x", said),
        ("", signature, said),
        (VECTORS[0][0] if message else VECTORS[1][0], signature, said),
        (key, (other_r if message else VECTORS[1][2][:64]) + signature[64:], said),
        (key, signature[:64] + (other_s if message != "72" else VECTORS[0][2][64:]), said),
    ):
        assert signed(*wrong) is False, wrong


def test_a_second_writing_of_a_signature_is_none() -> None:
    """RFC 8032 5.1.7: a half as large as the order of the group or larger is refused."""
    nothing = (1).to_bytes(32, "little")  # the point that adds nothing, as key and as first half
    order = 2**252 + 27742317777372353535851937790883648493

    def said(half: int) -> bool:
        return check_record.signed(
            nothing.hex(), (nothing + half.to_bytes(32, "little")).hex(), b""
        )

    assert (said(0), said(order), said(2 * order)) == (True, False, False)
    key, message, signature = VECTORS[1]
    more = int.from_bytes(bytes.fromhex(signature[64:]), "little") + order
    again = signature[:64] + more.to_bytes(32, "little").hex()
    assert check_record.signed(key, again, bytes.fromhex(message)) is False


@pytest.mark.parametrize("turned", [False, True])
def test_the_opposite_point_is_another_one(turned: bool) -> None:
    """Both coordinates count: a forger who knows the key and turns the second half about gets a
    point of the same y; with the point (0, -1) added to the first half, one of the same x."""
    prime = 2**255 - 19
    order = 2**252 + 27742317777372353535851937790883648493

    def name(point: tuple[int, int, int, int]) -> bytes:
        x, y = (one * pow(point[2], -1, prime) % prime for one in point[:2])
        return (y | (x & 1) << 255).to_bytes(32, "little")

    key = name(check_record.times(5, check_record.BASE))
    first = check_record.times(7, check_record.BASE)
    if turned:
        first = check_record.add(first, (0, prime - 1, 1, 0))
    mixed = hashlib.sha512(name(first) + key + b"said").digest()
    right = (7 + 5 * int.from_bytes(mixed, "little")) % order

    def said(half: int) -> bool:
        return check_record.signed(
            key.hex(), (name(first) + half.to_bytes(32, "little")).hex(), b"said"
        )

    assert (said(right), said(order - right)) == (not turned, False)


def test_what_names_a_point() -> None:
    """RFC 8032 5.1.3: 0 <= y < p, x recovered by its parity; no other 32 bytes name one."""
    prime = 2**255 - 19

    def name(y: int, odd: bool = False) -> bytes:
        return (y | odd << 255).to_bytes(32, "little")

    assert check_record.point_of(name(1)) == (0, 1, 1, 0)
    x, y, _z, _t = check_record.point_of(name(0))
    assert (x * x % prime, y, x & 1) == (prime - 1, 0, 0)
    assert check_record.point_of(name(0, True))[0] == prime - x
    x, y, z, t = check_record.BASE
    assert (y * 5 % prime, z, t) == (4, 1, x * y % prime)
    assert x & 1 == 0
    assert (-x * x + y * y - 1 - check_record.D * x * x * y * y) % prime == 0
    for wrong in (name(prime), name(prime + 1), name(1, True), name(prime - 1, True), name(2)):
        with pytest.raises(ValueError, match="no point"):
            check_record.point_of(wrong)


PART = st.recursive(
    st.text(max_size=4) | st.integers(-(2**53) + 1, 2**53 - 1) | st.booleans() | st.none(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
    max_leaves=6,
)


@given(st.dictionaries(st.text(max_size=3) | st.sampled_from("\ue000\U0001f525é"), PART))
def test_the_form_that_is_hashed_is_rfc_8785s(value: dict[str, Any]) -> None:
    """By another hand, keys beyond the basic plane among them."""
    assert check_record.canonical(value) == rfc8785.dumps(value)


@pytest.mark.parametrize(
    ("words", "said", "spanish"),
    [
        ([], {}, False),
        (["--es"], {}, True),
        (["--es"], {"LANG": "en_US.UTF-8"}, True),
        ([], {"LANG": "es_MX.UTF-8"}, True),
        ([], {"LC_ALL": "C", "LANG": "es_MX.UTF-8"}, False),
        ([], {"LC_ALL": "", "LC_MESSAGES": "es_US", "LANG": "C"}, True),
    ],
)
def test_which_language_it_speaks(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    said: dict[str, str],
    spanish: bool,
) -> None:
    """The first of three settings that says anything (POSIX 8.2), or what was typed."""
    for name in ("LC_ALL", "LC_MESSAGES", "LANG"):
        monkeypatch.delenv(name, raising=False)
    for name, value in said.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(check_record, "LANGUAGE", ["en"])  # the next test's is its own
    check_record.main(["/no/such/file", *words])
    assert capsys.readouterr().out.startswith("Esto no es un registro") is spanish
