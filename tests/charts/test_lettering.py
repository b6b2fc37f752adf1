"""Words that are fitted into their room."""

from __future__ import annotations

from flybench.charts.lettering import drawable, shortened, width_of, wrapped


def test_words_are_fitted() -> None:
    assert wrapped("one two three", width_of("one two", 8) + 0.1, 8) == ["one two", "three"]
    assert width_of(shortened("x" * 300 + ".mp4", 100, 8), 8) <= 100
    assert shortened("short.mp4", 100, 8) == "short.mp4"
    assert drawable("fly\n釣.mp4 $x$ ±") == "fly□□.mp4 $x$ ±"
