"""How wide a text is drawn, so that labels can be kept apart without a browser."""

# Advance widths in thousandths of the type size: the widest of B612 and DejaVu Sans, measured in those fonts, regular
# and (taken as 1.13 times the regular) bold.
_REGULAR = {
    200: "\u202f\u2009",
    280: "'",
    320: "ij",
    340: ",.I|·",
    360: " :;l‘’\u00a0",
    400: "f",
    420: "!²³",
    440: "rt",
    460: "()-J[",
    480: '"',
    500: "]°",
    540: "sz",
    560: "*/?\\_`c–ç",
    580: "L",
    600: "kvxy“”",
    620: "FTaeoéèöäåø",
    640: "$ESbdghnpqu}üñ",
    660: "0123456789PY{µß",
    700: "ABCKRVXZ",
    740: "U",
    760: "HN",
    780: "&DG",
    800: "OQΩØ",
    820: "w",
    840: "+<=>^~−×÷±≤≥",
    860: "#",
    900: "M",
    960: "%",
    980: "m½¼¾",
    1000: "@W…",
}
_WIDTHS = {char: width / 1000 for width, chars in _REGULAR.items() for char in chars}
_OTHER = 1.0
_BOLD = 1.13
CAPITAL = 0.75
DESCENT = 0.24


def width(text: str, size: float, bold: bool = False) -> float:
    """Return an upper estimate of a text's width, in the units of `size`."""
    ems = sum([_WIDTHS.get(char, _OTHER) for char in text])
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
