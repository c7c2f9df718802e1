"""What is written behind comes out as if it were written at once, and what goes wrong is told."""

import io
import random

import pytest

from mixer.store.behind import AT_ONCE_BYTES, written_behind


def steps(seed):
    chance, at = random.Random(seed), 0  # noqa: S311 - no secret
    for number in range(60):
        piece = bytes([number]) * chance.choice([1, 4, 70_000, AT_ONCE_BYTES, AT_ONCE_BYTES + 1])
        yield "write", piece
        at += len(piece)
        if chance.random() < 0.2:
            yield "seek", chance.randrange(at)
            yield "write", b"here"
            yield "seek", at


@pytest.mark.parametrize("seed", range(3))
def test_the_same_bytes_come_out(seed):
    plain, other = io.BytesIO(), io.BytesIO()
    with written_behind(other) as behind:
        for name, value in steps(seed):
            getattr(plain, name)(value)
            getattr(behind, name)(value)
            if name == "seek":
                assert behind.tell() == plain.tell()
    assert other.getvalue() == plain.getvalue()


class Full(io.BytesIO):
    def write(self, content):
        if self.tell() > 2 * AT_ONCE_BYTES:
            raise OSError(28, "no space left")
        return super().write(content)


def write(out, pieces):
    with written_behind(out) as behind:
        for piece in pieces:
            behind.write(piece)


def test_a_full_disk_is_told_while_more_is_made():
    made = (bytes(AT_ONCE_BYTES) for _ in range(10))
    with pytest.raises(OSError, match="no space"):
        write(Full(), made)
    assert len(list(made)) >= 5


def test_a_disk_that_is_full_at_the_end_is_told():
    with pytest.raises(OSError, match="no space"):
        write(Full(), [bytes(size_bytes) for size_bytes in (AT_ONCE_BYTES, AT_ONCE_BYTES, AT_ONCE_BYTES, 5)])


def test_another_error_goes_its_way_and_what_was_handed_over_is_written():
    def made():
        yield bytes(AT_ONCE_BYTES)
        raise KeyError

    out = io.BytesIO()
    with pytest.raises(KeyError):
        write(out, made())
    assert len(out.getvalue()) == AT_ONCE_BYTES
