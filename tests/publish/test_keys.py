"""Passphrases: hard to guess, easy to read out, made once, and in one private file."""

from __future__ import annotations

import math
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from profilegen.errors import InputError, OutputError
from profilegen.history.load import athlete_paths
from profilegen.publish.keys import (
    KEYS_FILE,
    KeyRing,
    LifterKey,
    add_keys,
    entropy_bits,
    new_passphrase,
    read_keys,
    words,
)

GOOD_SALT = "0123456789abcdef0123456789abcdef"


def write(folder: Path, text: str) -> Path:
    file = folder / KEYS_FILE
    file.write_text(text)
    return file


def ring_text(phrase: str = "acorn maple otter canoe", salt: str = GOOD_SALT) -> str:
    return f'secret: "{"ab" * 32}"\nlifters:\n  ann: {{passphrase: {phrase}, salt: "{salt}"}}\n'


class TestWords:
    def test_there_are_enough_and_each_stands_once(self) -> None:
        """1,296 = 6^4 would do; six words then hold more than 60 bits."""
        assert len(words()) >= 1296
        assert len(set(words())) == len(words())
        assert entropy_bits() == 6 * math.log2(len(words()))
        assert entropy_bits() > 60

    def test_they_are_short_and_plain(self) -> None:
        for word in words():
            assert word.isascii()
            assert word.isalpha()
            assert word.islower()
            assert 3 <= len(word) <= 8

    def test_none_is_another_one_with_a_common_ending(self) -> None:
        """`rose` and `roses` sound too much alike when read out."""
        known = set(words())
        for word in words():
            assert not {word + ending for ending in ("s", "es", "ed", "er", "ing", "y")} & known

    def test_a_passphrase_is_six_of_them_and_no_two_are_alike(self) -> None:
        phrases = {new_passphrase() for _ in range(200)}
        assert len(phrases) == 200
        for phrase in phrases:
            assert len(phrase.split()) == 6
            assert set(phrase.split()) <= set(words())

    def test_every_word_can_come_up(self) -> None:
        """4,000 phrases leave a given word out with chance (1 - 6/n)^4000, under 2e-7."""
        seen = {word for _ in range(4000) for word in new_passphrase().split()}
        assert seen == set(words())


class TestTheFile:
    def test_each_lifter_gets_one_and_keeps_it(self, tmp_path: Path) -> None:
        assert add_keys(tmp_path, ["kofi", "ann"]) == ("ann", "kofi")
        first = read_keys(tmp_path)
        text = (tmp_path / KEYS_FILE).read_text()
        assert add_keys(tmp_path, ["kofi", "ann", "bea"]) == ("bea",)
        assert (tmp_path / KEYS_FILE).read_text().startswith(text)
        second = read_keys(tmp_path)
        assert second.secret == first.secret
        assert {name: second.lifters[name] for name in ("ann", "kofi")} == first.lifters
        assert len({key.passphrase for key in second.lifters.values()}) == 3
        assert len({key.salt for key in second.lifters.values()}) == 3

    def test_asking_again_changes_not_a_byte(self, tmp_path: Path) -> None:
        add_keys(tmp_path, ["ann"])
        before = (tmp_path / KEYS_FILE).read_bytes()
        assert add_keys(tmp_path, ["ann"]) == ()
        assert (tmp_path / KEYS_FILE).read_bytes() == before

    def test_what_the_coach_wrote_stays(self, tmp_path: Path) -> None:
        text = "# told Ann on Monday\n" + ring_text("the quick brown fox of ours")
        write(tmp_path, text)
        add_keys(tmp_path, ["ann", "bea"])
        assert (tmp_path / KEYS_FILE).read_text().startswith(text)
        assert read_keys(tmp_path).lifters["ann"].passphrase == "the quick brown fox of ours"

    def test_only_its_owner_can_read_it(self, tmp_path: Path) -> None:
        add_keys(tmp_path, ["ann"])
        file = tmp_path / KEYS_FILE
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        file.chmod(0o644)
        add_keys(tmp_path, ["ann"])
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        file.chmod(0o644)
        add_keys(tmp_path, ["bea"])
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        assert list(tmp_path.iterdir()) == [file]

    @pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
    @pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["", "byte order mark"])
    def test_every_byte_that_was_there_stays(self, tmp_path: Path, end: str, mark: bytes) -> None:
        """Line ends of Windows and letters beyond ASCII too; new lines end as the others do."""
        text = "# für Ann: größer 😀\n" + ring_text("the quick brown fox of ours")
        before = mark + text.replace("\n", end).encode()
        (tmp_path / KEYS_FILE).write_bytes(before)
        assert add_keys(tmp_path, ["ann", "bea"]) == ("bea",)
        after = (tmp_path / KEYS_FILE).read_bytes()
        assert after.startswith(before)
        added = after.removeprefix(before).decode()
        assert added.startswith('  "bea": {')
        assert added.endswith("}" + end)
        assert "\n" not in added.removesuffix(end)

    def test_where_the_system_knows_only_ascii(self, tmp_path: Path) -> None:
        """The C locale, with Python's own way out of it turned off."""
        text = "# für Ann\n" + ring_text("the quick brown fox of ours")
        (tmp_path / KEYS_FILE).write_bytes(text.encode())
        code = "import sys, pathlib\nfrom profilegen.publish.keys import add_keys\n"
        code += "print(add_keys(pathlib.Path(sys.argv[1]), ['bea']))"
        plain = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
        done = subprocess.run(
            [sys.executable, "-c", code, str(tmp_path)],
            env={**os.environ, **plain},
            capture_output=True,
            text=True,
        )
        assert done.stdout == "('bea',)\n", done.stderr
        assert (tmp_path / KEYS_FILE).read_bytes().startswith(text.encode())

    def test_a_file_it_cannot_add_to_is_left_alone(self, tmp_path: Path) -> None:
        text = f'lifters:\n  ann: {{passphrase: {"a" * 20}, salt: "{GOOD_SALT}"}}\n'
        text += f'secret: "{"ab" * 32}"\n'
        file = write(tmp_path, text)
        with pytest.raises(OutputError, match="move the block `lifters` to the end"):
            add_keys(tmp_path, ["bea"])
        assert file.read_text() == text
        assert list(tmp_path.iterdir()) == [file]

    def test_git_and_the_athletes_loader_pass_it_by(
        self, tmp_path: Path, pytestconfig: pytest.Config
    ) -> None:
        assert KEYS_FILE in (pytestconfig.rootpath / ".gitignore").read_text().splitlines()
        write(tmp_path, ring_text())
        (tmp_path / "ann.yaml").write_text("name: Ann\n")
        assert [path.name for path in athlete_paths(tmp_path)[0]] == ["ann.yaml"]

    def test_without_a_file_there_are_no_keys(self, tmp_path: Path) -> None:
        assert read_keys(tmp_path) == KeyRing()

    @pytest.mark.parametrize(
        ("text", "said"),
        [
            ("", "the file is empty"),
            ("lifters: {}\n", "secret: missing"),
            (ring_text(salt="abc"), ":3:"),
            (ring_text("too short"), "too short to be safe"),
            (ring_text("Grüße aus dem schönen Süden"), "letters (a-z)"),
            (ring_text() + "lifter: {}\n", 'did you mean "lifters"'),
        ],
    )
    def test_mistakes_in_it_are_told_with_their_line(
        self, tmp_path: Path, text: str, said: str
    ) -> None:
        write(tmp_path, text)
        with pytest.raises(InputError) as caught:
            read_keys(tmp_path)
        assert said in str(caught.value)

    @pytest.mark.parametrize(
        "text",
        [
            ring_text("zebra nine"),
            ring_text("12345678901234567890123"),
            ring_text("0x12345"),
            ring_text("[zebra, nine]"),
            ring_text("*zebra nine"),
            ring_text("&zebra nine"),
            ring_text("!zebra nine"),
            ring_text("a", salt="zebra nine"),
            ring_text().replace(f'"{GOOD_SALT}"', "12345678901234567890123456789012"),
            ring_text().replace(f'"{"ab" * 32}"', "zebra"),
            ring_text().replace(f'"{"ab" * 32}"', "1234567890"),
            'secret: "zebra"\nlifters: zebra nine\n',
            f'secret: "{"ab" * 32}"\nlifters:\n  ann: zebra nine\n',
            f'secret: "{"ab" * 32}"\nlifters:\n  ann: 1234567890\n',
            f'secret: "{"ab" * 32}"\nlifters:\n  ann: {{zebra nine: x, zebra nine: y}}\n',
            f'secret: "{"ab" * 32}"\nlifters:\n  zebra nine: 5\n',
            "zebra nine",
            "1234567890",
            "zebra nine: x\n",
        ],
    )
    def test_no_message_repeats_a_secret(self, tmp_path: Path, text: str) -> None:
        """Nor a part of one, whatever is wrong with it, and wherever it was put by mistake."""
        write(tmp_path, text)
        with pytest.raises(InputError) as caught:
            read_keys(tmp_path)
        assert caught.value.problems
        for secret in ("zebra", "nine", "12345"):
            assert secret not in str(caught.value) + repr(caught.value)

    def test_no_value_shows_a_secret(self) -> None:
        assert "zebra" not in repr(KeyRing(b"zebra", {"ann": LifterKey("zebra", b"")}))

    def test_a_passphrase_of_digits_needs_quotes(self, tmp_path: Path) -> None:
        write(tmp_path, ring_text("12345678901234567890123"))
        with pytest.raises(InputError, match="a passphrase, in quotes if it is a number, found"):
            read_keys(tmp_path)
        write(tmp_path, ring_text('"12345678901234567890123"'))
        assert read_keys(tmp_path).lifters["ann"].passphrase == "12345678901234567890123"


class TestNamesOfPages:
    def test_they_say_nothing_and_stay_the_same(self) -> None:
        """Without the secret nobody can try out first names."""
        ring, other = KeyRing(b"a" * 32), KeyRing(b"b" * 32)
        names = {ring.page_name(one) for one in ("ann", "bea", "kofi")}
        assert len(names) == 3
        assert all(len(name) == 20 and int(name, 16) >= 0 for name in names)
        assert ring.page_name("ann") == ring.page_name("ann") != other.page_name("ann")
