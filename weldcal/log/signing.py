"""Signatures with a key kept outside the book: Ed25519 (RFC 8032), by `cryptography`.

Invariant: the key never enters the book; what is signed is a seal's statement.
A name in the record is declared; only a signature ties it to a key.
"""

from __future__ import annotations

import os
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from weldcal.errors import FileTrouble, Missing, NotWritten, reason
from weldcal.words import _, mark

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey


class NoSigning(Missing):
    """The package that signs is not installed."""

    sentence = mark("Signing needs one more package. Type: pip install 'weldcal[sign]'.")


def new_key(path: Path) -> str:
    """Make a key file, readable by its owner only; the public key, hex.

    Raises:
        FileTrouble: there is a file already, or none can be made.
    """
    _needed()
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    key = Ed25519PrivateKey.generate()
    text = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    try:
        made = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with os.fdopen(made, "wb") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
    except FileExistsError:
        raise FileTrouble(file=path, why=_("it is there already; type another name")) from None
    except OSError as error:
        path.unlink(missing_ok=True)
        raise NotWritten(file=path, why=reason(error)) from None
    return key.public_key().public_bytes_raw().hex()


def sign(path: Path, message: bytes) -> tuple[str, str]:
    """Sign a statement; the public key and the signature, hex.

    Raises:
        FileTrouble: no key can be read there.
    """
    key = _read(path)
    return key.public_key().public_bytes_raw().hex(), key.sign(message).hex()


def holds(key: str, signature: str, message: bytes) -> bool:
    """Whether a signature is of that statement by that key.

    Raises:
        Missing: the `cryptography` package is not installed.
    """
    _needed()
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(key)).verify(
            bytes.fromhex(signature), message
        )
    except (InvalidSignature, ValueError):
        return False
    return True


def possible() -> bool:
    """Whether the package that checks signatures is installed."""
    return find_spec("cryptography") is not None


def _read(path: Path) -> Ed25519PrivateKey:
    _needed()
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        key = load_pem_private_key(path.read_bytes(), None)
    except OSError as error:
        raise FileTrouble(file=path, why=reason(error)) from None
    except (ValueError, TypeError):
        raise FileTrouble(file=path, why=_("it holds no key this program made")) from None
    if not isinstance(key, Ed25519PrivateKey):
        raise FileTrouble(file=path, why=_("it holds another kind of key"))
    return key


def _needed() -> None:
    try:
        import cryptography  # noqa: F401
    except ImportError:
        raise NoSigning from None
