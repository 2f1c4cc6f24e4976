"""Time and size of the pictures of a kept store, and of the same painted by a plotting library beside them.

python -m tests.bench.pictures STORE [--peer 6]

The library is matplotlib, where it is installed; it draws the same stretches and lines as SVG, without words
beside the areas, the text alternative or the data for pointing. Nothing here is a test.
"""

import argparse
import io
import statistics
import time
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path

import duckdb

from auditor.picture import Picture, pictures
from auditor.picture.reading import CircuitYear, years
from tests.bench.run import machine


def main() -> None:
    """Measures and prints."""
    parser = argparse.ArgumentParser(description="Time and size of pictures.")
    parser.add_argument("store", type=Path, help="what auditor run --store kept")
    parser.add_argument("--peer", type=int, default=6, help="pictures by the plotting library; 0: none")
    options = parser.parse_args()
    with duckdb.connect(str(options.store), read_only=True) as connection:
        ids = [row[0] for row in connection.execute("SELECT circuit_id FROM circuits ORDER BY 1").fetchall()]
        print(f"{machine()}.\n")
        print("| | pictures | ms each | bytes, median | bytes, largest |\n|---|---:|---:|---:|---:|")
        started = time.perf_counter()
        sizes = [_bytes(picture) for picture in pictures(connection, ids).values()]
        _print("reading and drawing", sizes, time.perf_counter() - started)
        if options.peer and find_spec("matplotlib"):
            chosen = list(years(connection, ids[:: max(1, len(ids) // options.peer)]))
            plotted(chosen[:1])  # once to load fonts and caches
            started = time.perf_counter()
            sizes = plotted(chosen)
            _print("matplotlib, drawing alone", sizes, time.perf_counter() - started)


def _bytes(picture: Picture) -> int:
    small = picture.right_clock.svg if picture.right_clock else ""
    return len((picture.svg + picture.data + small).encode())


def _print(what: str, sizes: Sequence[int], seconds: float) -> None:
    each = 1000 * seconds / len(sizes)
    print(f"| {what} | {len(sizes)} | {each:.1f} | {statistics.median(sizes):.0f} | {max(sizes)} |")


def plotted(chosen: Sequence[CircuitYear]) -> list[int]:
    """The same by matplotlib: bytes of each SVG."""
    import matplotlib

    matplotlib.use("svg")
    return [len(_plot(year).encode()) for year in chosen]


def _plot(year: CircuitYear) -> str:
    from matplotlib import pyplot
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path as Outline

    figure, axes = pyplot.subplots(figsize=(8.2, 4.6))
    for paint in dict.fromkeys(piece.paint for piece in year.pieces):
        corners = [
            (x, y)
            for piece in year.pieces
            if piece.paint == paint
            for x, y in (
                (piece.day, piece.start),
                (piece.day + 1, piece.start),
                (piece.day + 1, piece.end),
                (piece.day, piece.end),
                (piece.day, piece.start),
            )
        ]
        codes = [Outline.MOVETO, *[Outline.LINETO] * 3, Outline.CLOSEPOLY] * (len(corners) // 5)
        axes.add_patch(PathPatch(Outline(corners, codes), hatch="//", linewidth=0, label=paint))
    for name, points in year.site.lines.items():
        axes.plot(
            [day + 0.5 for day, _ in points], [minute for _, minute in points], linewidth=0.8, label=name
        )
    axes.set(xlim=(0, year.head["days"]), ylim=(0, 1440), yticks=range(0, 1441, 360))
    axes.legend()
    written = io.StringIO()
    figure.savefig(written, format="svg")
    pyplot.close(figure)
    return written.getvalue()


if __name__ == "__main__":
    main()
