"""A tree's year drawn as SVG, from the same geometry for a page and for paper.

On a page widths are in per cent, so that letters keep their size on a phone and on a desk; colours are
classes of the style sheet. On paper the picture has a size of its own and its colours in it.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from html import escape

from care_planner.show.pictures.drawn import Picture, Point

Look = Callable[[str], str]
"""From what a thing is to the attributes that show it."""
SKY = 96  # px above the axis, where the bloom stands
PAPER_SKY = 60
ROW_SKY = 30
LANE = 19  # px for a lane of names
MONTH = 16
DOT_LANE = 13  # px between dots that stand above one another, each with its year

# What a picture is drawn with where no style sheet is at hand; the page's classes have the same names.
PAPER = {
    "grid": 'stroke="#c9c9c4" stroke-width="0.6"',
    "axis": 'stroke="#555" stroke-width="1"',
    "growth": 'fill="#dfe9d8"',
    "rest": 'fill="#eef0f2"',
    "wide": 'fill="#f3bfd0"',
    "bloom": 'fill="#c2446e"',
    "seen-bloom": 'fill="#8d2b50"',
    "now": 'stroke="#9a2a16" stroke-width="1.6" stroke-dasharray="4 3"',
    "dot": 'fill="#222" stroke="#fff" stroke-width="0.8"',
    "planned": 'fill="#fff" stroke="#222" stroke-width="1.5"',
    "done": 'fill="#222"',
    "name": 'fill="#222" font-size="11"',
    "year": 'fill="#222" font-size="9" stroke="#fff" stroke-width="2" paint-order="stroke"',
    "month": 'fill="#444" font-size="10"',
}


def page_picture(picture: Picture) -> str:
    """The picture for a page, as wide as its place; its sentences are its description."""
    height = SKY + MONTH + LANE * picture.lanes + 4
    parts = "".join(_drawn(picture, "%", 1.0, SKY, _css))
    return (
        f'<svg class="year-picture" width="100%" height="{height}" role="img" '
        f'aria-label="{escape(picture.words)}">{parts}</svg>'
    )


def row_picture(picture: Picture) -> str:
    """One line among others: bloom, growth, today and unnamed marks."""
    parts = "".join(
        (*_sky(picture, "%", 1.0, ROW_SKY, _css), *_small_marks(picture, "%", 1.0, ROW_SKY, _css))
    )
    return (
        f'<svg class="year-picture" width="100%" height="31" role="img" '
        f'aria-label="{escape(picture.words)}">{parts}</svg>'
    )


def month_line(picture: Picture) -> str:
    """The months above or below such lines."""
    names = "".join(_months(picture, "%", 1.0, 12, _css))
    return f'<svg class="year-picture" width="100%" height="16" aria-hidden="true">{names}</svg>'


def paper_picture(picture: Picture, width: float) -> str:
    """The picture by itself, `width` units wide, for a page of paper."""
    height = PAPER_SKY + MONTH + LANE * picture.lanes + 4
    return _standalone(_drawn(picture, "", width / 100, PAPER_SKY, _plain), width, height)


def paper_row(picture: Picture, width: float) -> str:
    """A line of the collection's year, for paper."""
    scale = width / 100
    parts = (*_sky(picture, "", scale, ROW_SKY, _plain), *_small_marks(picture, "", scale, ROW_SKY, _plain))
    return _standalone(parts, width, 31)


def paper_months(picture: Picture, width: float) -> str:
    """The months above such lines, for paper."""
    return _standalone(_months(picture, "", width / 100, 12, _plain), width, 16)


def _standalone(parts: Iterable[str], width: float, height: float) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" '
        f'width="{width:g}" height="{height:g}" font-family="sans-serif">{"".join(parts)}</svg>'
    )


def _css(name: str) -> str:
    return f'class="{name}"'


def _plain(name: str) -> str:
    return PAPER[name]


def _drawn(picture: Picture, unit: str, scale: float, sky: int, look: Look) -> Iterator[str]:
    yield from _sky(picture, unit, scale, sky, look)
    yield from _months(picture, unit, scale, sky + 12, look)
    yield from _named_marks(picture, unit, scale, sky, look)


def _at(x: float, unit: str, scale: float) -> str:
    return f"{round(x * scale, 2):g}{unit}"


def _sky(picture: Picture, unit: str, scale: float, height: int, look: Look) -> Iterator[str]:
    """Grounds, months, bloom, dots of earlier years and today, above a line at `height`."""

    yield f'<rect x="0" y="0" width="{_at(100, unit, scale)}" height="{height}" {look("rest")}/>'
    for ground in picture.grounds:
        x, width = _at(ground.x, unit, scale), _at(ground.width, unit, scale)
        yield f'<rect x="{x}" y="0" width="{width}" height="{height}" {look("growth")}/>'
    for month, _ in picture.months:
        at = _at(month, unit, scale)
        yield f'<line x1="{at}" x2="{at}" y1="0" y2="{height}" {look("grid")}/>'
    if picture.bloom is not None:
        yield from _shapes(picture, unit, scale, height, look)
    yield f'<line x1="0" x2="{_at(100, unit, scale)}" y1="{height}" y2="{height}" {look("axis")}/>'
    yield from _dots(picture, unit, scale, height, look)
    if picture.today is not None:
        at = _at(picture.today, unit, scale)
        yield f'<line x1="{at}" x2="{at}" y1="0" y2="{height}" {look("now")}/>'


def _dots(picture: Picture, unit: str, scale: float, height: int, look: Look) -> Iterator[str]:
    """First flowers of earlier years, in lanes above one another, each with its year where there is room."""
    named = height > ROW_SKY
    apart, lanes = (DOT_LANE, (height - 8) // DOT_LANE) if named else (9, 3)
    for number, dot in enumerate(sorted(picture.dots, key=lambda dot: dot.x)):
        at, y = _at(dot.x, unit, scale), height - 7 - apart * (number % lanes)
        yield f'<circle cx="{at}" cy="{y}" r="{3.2 if named else 2.6}" {look("dot")}/>'
        if named:
            place = f'x="{at}" y="{y + 4}" dx="-6" text-anchor="end"'
            yield f"<text {place} {look('year')}>{dot.year % 100:02d}</text>"


def _shapes(picture: Picture, unit: str, scale: float, height: int, look: Look) -> Iterator[str]:
    """The bloom: in per cent a drawing of its own that is stretched, since paths know no per cent."""
    assert picture.bloom is not None
    bloom, across = picture.bloom, 1.0 if unit else scale
    if unit:
        yield f'<svg width="100%" height="{height}" viewBox="0 0 100 {height}" preserveAspectRatio="none">'
    if not bloom.seen:
        yield f'<path d="{_path(bloom.wide, across, height)}" {look("wide")}/>'
    name = "seen-bloom" if bloom.seen else "bloom"
    yield f'<path d="{_path(bloom.likely, across, height)}" {look(name)}/>'
    if unit:
        yield "</svg>"


def _path(points: Sequence[Point], across: float, height: int) -> str:
    tall = height - 5
    placed = [f"{round(x * across, 2):g} {round(height - y * tall, 1):g}" for x, y in points]
    return f"M{'L'.join(placed)}Z"


def _months(picture: Picture, unit: str, scale: float, y: int, look: Look) -> Iterator[str]:
    for x, name in picture.months:
        yield f'<text x="{_at(x + 0.5, unit, scale)}" y="{y}" {look("month")}>{name}</text>'


def _named_marks(picture: Picture, unit: str, scale: float, sky: int, look: Look) -> Iterator[str]:
    for mark in picture.works:
        y = sky + MONTH + LANE * mark.lane + LANE / 2 + 2
        yield _mark(_at(mark.x, unit, scale), y, mark.look, look)
        side = 'dx="-8" text-anchor="end"' if mark.left else 'dx="8"'
        at = _at(mark.x, unit, scale)
        yield f'<text x="{at}" y="{y + 4}" {side} {look("name")}>{escape(mark.name)}</text>'


def _small_marks(picture: Picture, unit: str, scale: float, height: int, look: Look) -> Iterator[str]:
    for mark in picture.works:
        yield _mark(_at(mark.x, unit, scale), height - 6, mark.look, look, 4)


def _mark(at: str, y: float, kind: str, look: Look, size: int = 6) -> str:
    """A diamond for what is planned, a square for what is done."""
    if kind == "planned":
        shape = f'<path d="M0-{size} {size} 0 0 {size}-{size} 0z" {look("planned")}/>'
    else:
        half = size - 1
        shape = f'<rect x="-{half}" y="-{half}" width="{2 * half}" height="{2 * half}" {look("done")}/>'
    if at.endswith("%"):
        return f'<svg x="{at}" y="{y:g}" overflow="visible">{shape}</svg>'
    return f'<g transform="translate({at} {y:g})">{shape}</g>'
