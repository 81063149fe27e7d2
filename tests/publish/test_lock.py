"""The lock: its primitives against published vectors, and what the whole of it promises.

Vectors are written down from memory of the documents named beside them and checked here twice:
against `cryptography` as the program uses it, and where the standard library can, against that.
"""

from __future__ import annotations

import hashlib
import hmac
import math

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from profilegen.publish import lock as module
from profilegen.publish.lock import (
    ROUNDS,
    Locked,
    WrongPassphrase,
    as_typed,
    expanded,
    lock,
    master_secret,
    unlock,
)

FEW = 10
"""Rounds in tests that are about something else."""
SALT = bytes(range(16))
WORDS = "acorn maple otter canoe violin harbour"


def hexed(text: str) -> bytes:
    return bytes.fromhex("".join(text.split()))


KEY = hexed("feffe9928665731c6d6a8f9467308308" * 2)
IV = hexed("cafebabefacedbaddecaf888")
PLAIN = hexed(
    "d9313225f88406e5a55909c5aff5269a86a7a9531534f7da2e4c303d8a318a72"
    "1c3c0c95956809532fcf0e2449a6b525b16aedf5aa0de657ba637b391aafd255"
)
SEALED = hexed(
    "522dc1f099567d07f47f37a32a84427d643a8cdcbfe5c0c97598a2bd2555d1aa"
    "8cb08e48590dbb3da7b08b1056828838c5f61e6393ba7a0abcc9f662898015ad"
)

# AES-256 cases 13 to 16 of "The Galois/Counter Mode of Operation" (McGrew and Viega 2005,
# appendix B), the vectors that came with the submission NIST SP 800-38D describes.
GCM = [
    (bytes(32), bytes(12), b"", b"", b"", "530f8afbc74536b9a963b4f1c4cb738b"),
    (
        bytes(32),
        bytes(12),
        bytes(16),
        b"",
        hexed("cea7403d4d606b6e074ec5d3baf39d18"),
        "d0d1c8a799996bf0265b98b5d48ab919",
    ),
    (KEY, IV, PLAIN, b"", SEALED, "b094dac5d93471bdec1a502270e3cc6c"),
    (
        KEY,
        IV,
        PLAIN[:60],
        hexed("feedfacedeadbeeffeedfacedeadbeefabaddad2"),
        SEALED[:60],
        "76fc6ece0f4e1768cddf8853bb2d551b",
    ),
]


@pytest.mark.parametrize(("key", "iv", "plain", "label", "sealed", "tag"), GCM)
def test_aes_256_gcm_gives_the_published_vectors(
    key: bytes, iv: bytes, plain: bytes, label: bytes, sealed: bytes, tag: str
) -> None:
    assert AESGCM(key).encrypt(iv, plain, label) == sealed + hexed(tag)
    assert AESGCM(key).decrypt(iv, sealed + hexed(tag), label) == plain


# RFC 7914, section 11; the first 32 of the 64 bytes given there, as the first block of PBKDF2
# does not depend on how many are asked for (RFC 8018, section 5.2).
PBKDF2 = [
    ("passwd", b"salt", 1, "55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc"),
    (
        "Password",
        b"NaCl",
        80_000,
        "4ddcd8f60b98be21830cee5ef22701f9641a4418d04c0414aeff08876b34ab56",
    ),
]


@pytest.mark.parametrize(("phrase", "salt", "rounds", "expected"), PBKDF2)
def test_pbkdf2_hmac_sha_256_gives_the_published_vectors(
    phrase: str, salt: bytes, rounds: int, expected: str
) -> None:
    assert master_secret(phrase, salt, rounds) == hexed(expected)
    assert hashlib.pbkdf2_hmac("sha256", phrase.encode(), salt, rounds, 32) == hexed(expected)


def test_hkdf_sha_256_gives_the_published_vector() -> None:
    """RFC 5869, appendix A.3 (neither salt nor info), first 32 bytes; and by its own formula."""
    secret = b"\x0b" * 22
    expected = hexed("8da4e775a563c18f715f802a063c5a31b8a11f5c5ee1879ec3454e5f3c738d2d")
    assert expanded(secret, b"") == expected
    pseudorandom = hmac.digest(bytes(32), secret, "sha256")
    assert hmac.digest(pseudorandom, b"\x01", "sha256") == expected


def test_there_are_as_many_rounds_as_promised() -> None:
    assert ROUNDS >= 600_000
    assert lock("<p>x</p>", WORDS, SALT).rounds == ROUNDS


def test_the_passphrase_gives_the_content_back() -> None:
    content = "<h1>Žofie</h1>" * 500
    locked = lock(content, WORDS, SALT, rounds=FEW)
    assert unlock(locked, WORDS) == content
    assert unlock(locked, " Acorn-MAPLE otter  canoe violin harbour ") == content


@pytest.mark.parametrize("wrong", ["", "acorn", WORDS + "s", WORDS[:-1], WORDS.replace(" ", "")])
def test_another_passphrase_does_not(wrong: str) -> None:
    with pytest.raises(WrongPassphrase):
        unlock(lock("<p>x</p>", WORDS, SALT, rounds=FEW), wrong)


@pytest.mark.parametrize("part", ["salt", "nonce", "sealed", "rounds"])
def test_one_changed_bit_anywhere_is_noticed(part: str) -> None:
    locked = lock("<p>kept</p>", WORDS, SALT, rounds=FEW)
    values = {name: getattr(locked, name) for name in ("rounds", "salt", "nonce", "sealed")}
    value = values[part]
    values[part] = value + 1 if isinstance(value, int) else bytes([value[0] ^ 1]) + value[1:]
    with pytest.raises(WrongPassphrase):
        unlock(Locked(**values), WORDS)


def test_the_same_content_gives_the_same_bytes_and_anything_else_others() -> None:
    """Content, passphrase or salt changed: new nonce, new ciphertext. Nothing changed: none."""
    first = lock("<p>84</p>", WORDS, SALT, rounds=FEW)
    assert lock("<p>84</p>", WORDS, SALT, rounds=FEW) == first
    others = [
        lock("<p>85</p>", WORDS, SALT, rounds=FEW),
        lock("<p>84</p>", WORDS + " b", SALT, rounds=FEW),
        lock("<p>84</p>", WORDS, SALT[::-1], rounds=FEW),
    ]
    assert len({one.nonce for one in (first, *others)}) == 4
    assert len({one.sealed for one in (first, *others)}) == 4


def test_no_two_of_many_contents_share_a_nonce() -> None:
    """GCM would give both away; 96 bits of HMAC make it as good as impossible."""
    nonces = {lock(str(number), WORDS, SALT, rounds=1).nonce for number in range(500)}
    assert len(nonces) == 500
    assert {len(nonce) for nonce in nonces} == {12}


def test_nothing_of_the_content_stands_in_what_is_sealed() -> None:
    """And it looks like noise: 8 bits a byte, less what a sample of this size lacks."""
    content = "<p>Marigold 84.37 kg</p>" * 3000 + "".join(map(str, range(40_000)))
    sealed = lock(content, WORDS, SALT, rounds=FEW).sealed
    assert b"Marigold" not in sealed
    counts = [sealed.count(byte) for byte in range(256)]
    entropy = -sum(n / len(sealed) * math.log2(n / len(sealed)) for n in counts if n)
    assert entropy > 8 - 256 / len(sealed)


def test_the_browser_uses_the_same_words(pytestconfig: pytest.Config) -> None:
    """lock.js writes label and purpose out once more; a typo would lock everybody out."""
    script = (pytestconfig.rootpath / "templates/assets/lock.js").read_text()
    assert f'"{module.LABEL.decode()}"' in script
    assert f'"{module.KEY_INFO.decode()}"' in script


def test_capitals_hyphens_and_spaces_do_not_count() -> None:
    assert as_typed("Acorn-Maple\n otter ") == "acorn maple otter"
