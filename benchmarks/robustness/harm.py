"""Whether a stranger's words got where they may not: into a page as markup, a sheet as formula, a terminal as command.

Each function gives what it found in words; nothing is well.
"""

from __future__ import annotations

import csv
import io
import json
from html.parser import HTMLParser
from pathlib import Path

from benchmarks.robustness.classes import HIDDEN, SCRIPT

# What a spreadsheet takes for a formula (OWASP, "CSV Injection").
BEGINNINGS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
OWN_TAGS = {
    *("html", "head", "meta", "link", "title", "style", "body", "script", "header", "main", "footer", "nav", "section"),
    *("h1", "h2", "h3", "h4", "p", "a", "div", "span", "ul", "ol", "li", "dl", "dt", "dd", "kbd", "button", "label"),
    *("input", "select", "option", "textarea", "fieldset", "legend", "form", "output", "audio", "details", "summary"),
    *("table", "thead", "tbody", "tr", "th", "td", "caption", "pre", "article", "aside", "template", "em", "strong"),
    *("svg", "g", "path", "text", "tspan", "line", "rect", "polyline", "polygon", "circle", "desc", "defs", "pattern"),
    *("br", "hr", "figure", "figcaption", "img", "progress", "datalist", "small", "dialog", "symbol", "use", "time"),
}


class _Markup(HTMLParser):
    """Goes through a page as a browser does, and notes what none of ours would be."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.harm: list[str] = []
        self.scripts = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in OWN_TAGS:
            self.harm.append(f"a tag of nobody: <{tag[:40]}>")
        self.scripts += tag == "script"
        for name, value in attrs:
            if name.startswith("on") or (SCRIPT in (value or "") and name in ("href", "src", "style", "action")):
                self.harm.append(f"<{tag}> with {name}")
            if (value or "").strip().lower().startswith(("javascript:", "http:", "https:", "//")) and name != "xmlns":
                self.harm.append(f"<{tag}> leads to {value}")


def page_harm(text: str) -> list[str]:
    """What a page (or picture) has that a stranger brought."""
    markup = _Markup()
    markup.feed(text)
    markup.close()
    if markup.scripts not in (0, 2):  # what the page shows, and its own script
        markup.harm.append(f"{markup.scripts} scripts")
    return markup.harm


def sheet_harm(text: str) -> list[str]:
    """Cells of a table that a spreadsheet would work out, or that hold what no cell should."""
    rows = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""))
    cells = [cell for row in rows for cell in row]
    return [f"a formula: {cell!r}" for cell in cells if cell.startswith(BEGINNINGS)]


def terminal_harm(text: str) -> list[str]:
    """Signs that could steer a terminal or turn its lines round."""
    return [
        f"{sign!r}" for sign in sorted({sign for sign in text if not (sign.isprintable() or sign in "\n\u200c\u200d")})
    ]


def leaks(*places: Path) -> list[str]:
    """Files in which the hidden words stand."""
    hidden = (HIDDEN.encode(), HIDDEN.encode("utf-16-le"), HIDDEN.encode("utf-16-be"))
    files = [path for place in places for path in place.rglob("*") if path.is_file()]
    return [str(path) for path in files if any(each in path.read_bytes() for each in hidden)]


def tree(folder: Path, *but: Path) -> dict[str, bytes]:
    """All files below a folder, links not followed, for a look at whether anything was written; `but` those below."""
    return {
        str(path.relative_to(folder)): b"" if path.is_symlink() else path.read_bytes()
        for path in folder.rglob("*")
        if (path.is_symlink() or path.is_file()) and not any(each in path.parents for each in but)
    }


def written_harm(folder: Path) -> list[str]:
    """What is wrong with files that were written: pages, pictures, tables, texts, names, links."""
    looks = {".html": page_harm, ".svg": page_harm, ".csv": sheet_harm, ".json": _pictures_harm}
    looks |= dict.fromkeys((".txt", ".md"), terminal_harm)
    found = []
    for path in sorted(folder.rglob("*")):
        if path.is_symlink() or not (path.is_file() or path.is_dir()):
            found.append(f"{path.name!r} is a link or worse")
        elif path.is_file() and path.suffix in looks:
            text = path.read_bytes().decode("utf-8", "replace")
            found += [f"{path.name}: {each}" for each in looks[path.suffix](text)]
        if terminal_harm(path.name) or any(sign in path.name for sign in '<>:"|?*\\'):
            found.append(f"a name: {path.name!r}")
    return found


def _pictures_harm(text: str) -> list[str]:
    """What the picture has that a page will show of a song."""
    shown = json.loads(text).get("shown", {})
    return page_harm(shown.get("svg", ""))
