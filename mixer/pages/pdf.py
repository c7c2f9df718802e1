"""A drawing as PDF (ISO 32000-1; version 1.4), one page for each sheet, with the fonts that every reader brings.

Written by hand: three kinds of items need a dozen operators, and any library for it would be larger than this program.
The price: these fonts hold the letters of Western Europe alone (Windows-1252). Other signs become a dot, and whoever
asked is told (`missing`), since the SVG and the page show every script.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Sequence

from mixer.pages.drawing import Item, Point, Shape, Sheet, Strokes, Style, Text
from mixer.pages.lettering import clean, clusters, width_of

_FONTS: dict[Style, tuple[str, str]] = {
    "roman": ("F1", "Times-Roman"),
    "italic": ("F2", "Times-Italic"),
    "bold": ("F3", "Times-Bold"),
    "bold italic": ("F4", "Times-BoldItalic"),
}
_NOT_HELD = "\u00b7"


def missing(sheets: Sequence[Sheet]) -> str:
    """The signs that PDF's own fonts do not hold, each once."""
    signs = (sign for sheet in sheets for item in sheet.items if isinstance(item, Text) for sign in clusters(item.text))
    return "".join(dict.fromkeys(sign for sign in signs if not _held(sign)))


def as_pdf(sheets: Sequence[Sheet], title: str) -> bytes:
    """Give sheets as a PDF file; the same sheets give the same bytes."""
    fonts = " ".join(f"/{name} {5 + number} 0 R" for number, (name, _) in enumerate(_FONTS.values()))
    first = 5 + len(_FONTS)
    kids = " ".join(f"{first + 2 * number} 0 R" for number in range(len(sheets)))
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        f"<< /Type /Pages /Kids [{kids}] /Count {len(sheets)} >>".encode(),
        f"<< /Font << {fonts} >> >>".encode(),
        b"<< /Title <" + ("\ufeff" + clean(title)).encode("utf-16-be", "replace").hex().encode() + b"> >>",
        *(
            f"<< /Type /Font /Subtype /Type1 /BaseFont /{font} /Encoding /WinAnsiEncoding >>".encode()
            for _, font in _FONTS.values()
        ),
    ]
    for number, sheet in enumerate(sheets):
        box = f"[0 0 {sheet.width:.2f} {sheet.height:.2f}]"
        content = f"{first + 2 * number + 1} 0 R"
        objects.append(f"<< /Type /Page /Parent 2 0 R /MediaBox {box} /Resources 3 0 R /Contents {content} >>".encode())
        drawn = zlib.compress("\n".join(_operators(sheet)).encode("ascii"), 9)
        head = f"<< /Length {len(drawn)} /Filter /FlateDecode >>\nstream\n".encode()
        objects.append(head + drawn + b"\nendstream")
    return _file(objects)


def _file(objects: Sequence[bytes]) -> bytes:
    """Number the objects, and say at the end where each begins."""
    out = bytearray(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
    places = []
    for number, content in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj\n" % number + content + b"\nendobj\n"
    table = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer\n<< /Size %d /Root 1 0 R /Info 4 0 R >>\n" % (len(objects) + 1)
    return bytes(out + b"startxref\n%d\n%%%%EOF\n" % table)


def _operators(sheet: Sheet) -> Iterable[str]:
    yield f"1 0 0 -1 0 {sheet.height:.2f} cm"  # y goes down, as in the drawing
    for item in sheet.items:
        yield _operator(item)


def _operator(item: Item) -> str:
    if isinstance(item, Strokes):
        ends = 1 if item.round_ends else 0
        return f"{item.width:.2f} w {ends} J {ends} j {' '.join(map(_path, item.lines))} S"
    if isinstance(item, Shape):
        return f"{0 if item.black else 1} g {_path(item.points)} h f"
    shown = "".join(sign if _held(sign) else _NOT_HELD for sign in clusters(item.text))
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor] * width_of(shown, item.size, item.style)
    place = f"1 0 0 -1 {item.x - back:.2f} {item.y:.2f} Tm"
    return f"0 g BT /{_FONTS[item.style][0]} {item.size:.2f} Tf {place} <{shown.encode('cp1252').hex()}> Tj ET"


def _held(cluster: str) -> bool:
    try:
        return min(cluster.encode("cp1252")) >= 32
    except UnicodeEncodeError:
        return False


def _path(points: Sequence[Point]) -> str:
    (x, y), *others = points
    return " ".join([f"{x:.2f} {y:.2f} m", *(f"{right:.2f} {down:.2f} l" for right, down in others)])
