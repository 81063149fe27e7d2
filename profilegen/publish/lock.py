"""Locks a report with a passphrase, so that the page can lie on any host.

Theory of operation
===================
The passphrase and the lifter's salt give a master secret by PBKDF2-HMAC-SHA-256 (RFC 8018,
600,000 rounds). HKDF-SHA-256 (RFC 5869) gives from it a key for AES-256-GCM (NIST SP 800-38D)
and a second one for the nonce. What is locked is the gzipped HTML of the page's content, with
`LABEL` as additional data. The browser repeats the same steps with WebCrypto
(templates/assets/lock.js).

The same content under the same passphrase and salt gives the same bytes, as everything this
program writes. GCM must never see one nonce with two contents, so the nonce is no counter and
no constant but HMAC-SHA-256(nonce key, content), cut to 96 bits: another content has another
nonce, but for a chance of 2^-96 a pair. (The idea of a synthetic nonce is that of AES-GCM-SIV,
RFC 8452, which browsers do not have.) The price: whoever keeps two copies of the site can tell
that a locked report did or did not change in between, though not what. A random nonce would
hide that, and would make every publication look changed. As with any encryption of a page,
about how long it is can be seen from outside.
"""

from __future__ import annotations

import base64
import gzip
import hmac
from dataclasses import dataclass

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.kdf.pbkdf2 import PBKDF2HMAC

from profilegen.report.locked import Lock

ROUNDS = 600_000
"""Of PBKDF2: 60 ms here and in a browser; each guess at a passphrase costs as much."""
SALT_BYTES = 16
LABEL = b"profilegen locked report 1"
KEY_INFO = b"profilegen key 1"
NONCE_INFO = b"profilegen nonce 1"


class WrongPassphrase(Exception):  # noqa: N818 - not a mistake in a file, an answer
    """The passphrase does not open this lock, or the locked content was tampered with."""


@dataclass(frozen=True, slots=True)
class Locked:
    """Locked content and what it takes, beside the passphrase, to unlock it."""

    rounds: int
    salt: bytes
    nonce: bytes
    sealed: bytes
    """AES-GCM ciphertext with its tag."""

    def for_page(self) -> Lock:
        """The same in base64."""
        salt, nonce, sealed = map(_text, (self.salt, self.nonce, self.sealed))
        return Lock(self.rounds, salt, nonce, sealed)


def lock(content: str, passphrase: str, salt: bytes, *, rounds: int = ROUNDS) -> Locked:
    """Lock the HTML of a page's content."""
    key, nonce_key = _keys(passphrase, salt, rounds)
    packed = gzip.compress(content.encode(), compresslevel=9, mtime=0)
    nonce = hmac.digest(nonce_key, packed, "sha256")[:12]
    return Locked(rounds, salt, nonce, AESGCM(key).encrypt(nonce, packed, LABEL))


def unlock(locked: Locked, passphrase: str) -> str:
    """The content again; what the browser does, for tests and for whoever doubts."""
    key, _ = _keys(passphrase, locked.salt, locked.rounds)
    try:
        packed = AESGCM(key).decrypt(locked.nonce, locked.sealed, LABEL)
    except InvalidTag:
        raise WrongPassphrase from None
    return gzip.decompress(packed).decode()


def as_typed(passphrase: str) -> str:
    """A passphrase as it counts: capitals and what stands between the words do not.

    >>> as_typed(" Maple-Otter  canoe ")
    'maple otter canoe'
    """
    return " ".join(passphrase.lower().replace("-", " ").split())


def master_secret(passphrase: str, salt: bytes, rounds: int) -> bytes:
    """32 bytes from a passphrase (RFC 8018, section 5.2)."""
    return PBKDF2HMAC(SHA256(), 32, salt, rounds).derive(passphrase.encode())


def expanded(secret: bytes, info: bytes) -> bytes:
    """32 bytes for one purpose (RFC 5869, with an empty salt)."""
    return HKDF(SHA256(), 32, None, info).derive(secret)


def _keys(passphrase: str, salt: bytes, rounds: int) -> tuple[bytes, bytes]:
    secret = master_secret(as_typed(passphrase), salt, rounds)
    return expanded(secret, KEY_INFO), expanded(secret, NONCE_INFO)


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode("ascii")
