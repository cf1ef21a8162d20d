import pytest

from clients.cli.json_text import decoded


def test_json_is_read() -> None:
    assert decoded(b' {"a": [1, 2.5, 1e-3, null, "\\u00e9"]} ') == {"a": [1, 2.5, 0.001, None, "é"]}


@pytest.mark.parametrize(
    "content",
    [b"", b"no", b"NaN", b"[-Infinity]", b"1e999", b'{"a": -1e400}', b"\xff", b"[" * 100_000, b"1" * 5_000],
)
def test_what_is_not_json_is_refused(content: bytes) -> None:
    with pytest.raises(ValueError, match=r"."):
        decoded(content)
