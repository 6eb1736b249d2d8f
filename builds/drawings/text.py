"""How wide a text is drawn, so that labels can be kept apart without a browser."""

# Advance widths in thousandths of the type size: the wider of B612 and DejaVu Sans, measured in those fonts.
_REGULAR = {
    320: "il jI|",
    340: "./:;!,'·‘’",
    360: " f",
    410: "rt",
    460: '()[]-“”"',
    525: "csz",
    560: "–/",
    600: "kvxy",
    620: "aeo",
    640: "bdghnpqu0123456789+=?LJ$",
    700: "ABCEFKPSTVXYZ",
    790: "DGHNOQRU",
    840: "−×w<>≤≥",
    950: "M%ΩW&",
    980: "m@…",
}
_WIDTHS = {char: width / 1000 for width, chars in sorted(_REGULAR.items(), reverse=True) for char in chars}
_OTHER = 0.75
_THIN = {"\u202f": 0.36, "\u00a0": 0.36, "\u2009": 0.36}
_BOLD = 1.13
CAPITAL = 0.75
DESCENT = 0.24


def width(text: str, size: float, bold: bool = False) -> float:
    """Return an upper estimate of a text's width, in the units of `size`."""
    ems = sum(_WIDTHS.get(char) or _THIN.get(char, _OTHER) for char in text)
    return ems * size * (_BOLD if bold else 1.0)


def wrap(text: str, size: float, room: float, bold: bool = False) -> list[str]:
    """Return the text in lines that fit the room, broken at spaces; a word that is too long stays whole."""
    lines: list[str] = []
    for word in text.split(" "):
        if lines and width(f"{lines[-1]} {word}", size, bold) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def shorten(text: str, size: float, room: float, bold: bool = False) -> str:
    """Return the text, or as much of it as fits the room with an ellipsis."""
    if width(text, size, bold) <= room:
        return text
    while text and width(f"{text}…", size, bold) > room:
        text = text[:-1]
    return f"{text.rstrip()}…"
