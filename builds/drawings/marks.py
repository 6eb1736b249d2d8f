"""The two marks of the language: a number in a circle is a line of the ticket, a letter in a box is an opening."""

from collections.abc import Callable, Sequence

from . import text as lettering
from .labels import Mark, Point, Tag
from .svg import SIZE, Box, Pane

DIAMETER = 21.0
LINE_HEIGHT = 14.0
PAD = 5.0
WIDEST = 78.0
MOST_SIDE_BY_SIDE = 6
MOST_LINES = 6

ToXY = Callable[[float, float], Point]


def balloons(names: Sequence[tuple[str, str]], upright: bool) -> list[Mark]:
    """Return balloons for (number, line id) pairs of one place: side by side, or where they are many all in one."""
    pairs = list(dict.fromkeys(names))
    if len(pairs) > MOST_SIDE_BY_SIDE:
        return [_mark([name for name, _ in pairs], " ".join(line for _, line in pairs), False, upright)]
    return [_mark([name], line, False, upright) for name, line in pairs]


def letters(names: Sequence[str], lines: str, upright: bool) -> list[Mark]:
    """Return one box for the letters of a place."""
    return [_mark(names, lines, True, upright)]


def joined(marks: Sequence[Mark], upright: bool) -> list[Mark]:
    """Return one mark that stands for several."""
    names = [name for mark in marks for name in mark.names]
    lines = " ".join(dict.fromkeys(" ".join(mark.lines for mark in marks).split()))
    return [_mark(names, lines, marks[0].boxed, upright)]


def _mark(names: Sequence[str], lines: str, boxed: bool, upright: bool) -> Mark:
    names = list(dict.fromkeys(names))
    texts = lettering.wrap(", ".join(in_ranges(names)), SIZE, WIDEST - 2 * PAD, bold=True)
    if len(texts) > MOST_LINES:
        texts = [*texts[: MOST_LINES - 1], "…"]
    wide = max(lettering.width(text, SIZE, bold=True) for text in texts)
    # A number of one or two figures takes the plain circle.
    plain = not boxed and len(texts) == 1 and wide <= DIAMETER - 2.0
    across = DIAMETER if plain else wide + 2 * PAD + (0.0 if boxed else 2.0)
    down = max(len(texts) * LINE_HEIGHT + 4.0, 18.0) if not plain else DIAMETER
    along, out = (down, across) if upright else (across, down)
    return Mark(tuple(names), tuple(texts), lines, boxed, along, out)


def draw_tag(pane: Pane, tag: Tag, edge: float, to_xy: ToXY, class_of: Callable[[str], str]) -> list[Box]:
    """Draw the leaders of a tag, then its marks; return the boxes of the marks. `edge` is the row's near side."""
    boxes = []
    _draw_leaders(pane, tag, to_xy, class_of)
    along = tag.at - tag.along / 2
    for mark in tag.marks:
        (x1, y1), (x2, y2) = to_xy(along, edge), to_xy(along + mark.along, edge + mark.out)
        box = Box(min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2))
        draw_mark(pane, mark, box, class_of)
        boxes.append(box)
        along += mark.along + 1
    return boxes


def _draw_leaders(pane: Pane, tag: Tag, to_xy: ToXY, class_of: Callable[[str], str]) -> None:
    pane.open(class_of(tag.lines), line=tag.lines)
    strokes = [[to_xy(along, out) for along, out in leader] for leader in tag.leaders]
    pane.leaders.extend(strokes)
    pane.strokes("d-hair", strokes)
    for leader in strokes:
        pane.circle("d-solid", *leader[0], 1.6)
    pane.close()


def draw_mark(pane: Pane, mark: Mark, box: Box, class_of: Callable[[str], str]) -> None:
    """Draw one balloon or box with its text."""
    data = {"opening": ",".join(mark.names)} if mark.boxed else {}
    pane.open(class_of(mark.lines), line=mark.lines, **data)
    height = box.bottom - box.top
    kind = "d-letter" if mark.boxed else "d-balloon"
    pane.rect(kind, box, 2.0 if mark.boxed else min(height / 2, DIAMETER / 2))
    x, y = (box.left + box.right) / 2, (box.top + box.bottom) / 2
    first = y - (len(mark.texts) - 1) * LINE_HEIGHT / 2 + SIZE * 0.36
    for i, text in enumerate(mark.texts):
        pane.text(x, first + i * LINE_HEIGHT, text, f"{kind}-n", "middle", bold=True)
    pane.close()


def in_ranges(names: Sequence[str]) -> list[str]:
    """Return numbers, or letters, with three and more that follow one another as a range: A, B, D–F.

    The letters are in the order of a schedule: A to Z, then AA, AB and so on.
    """
    if all(name.isdecimal() for name in names):
        return _ranges(sorted({int(name) for name in names}), str)
    if all(name.isascii() and name.isalpha() and name.isupper() for name in names):
        return _ranges(sorted({_rank(name) for name in names}), _letters)
    return list(dict.fromkeys(names))


def _ranges(numbers: Sequence[int], name: Callable[[int], str]) -> list[str]:
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    texts = []
    for run in runs:
        texts += [f"{name(run[0])}–{name(run[-1])}"] if len(run) > 2 else [name(number) for number in run]
    return texts


def _rank(letters: str) -> int:
    rank = 0
    for char in letters:
        rank = rank * 26 + ord(char) - ord("A") + 1
    return rank


def _letters(rank: int) -> str:
    text = ""
    while rank:
        rank, last = divmod(rank - 1, 26)
        text = chr(ord("A") + last) + text
    return text
