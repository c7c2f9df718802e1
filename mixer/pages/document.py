"""A web page that works from a file with no network: everything it needs is inside it, and nothing else may run.

What strangers wrote goes into the page as data, never as markup, and the page's own script shows it as text. The
content security policy (W3C, CSP Level 3) names the one script and the one style by their digests, and lets sound come
from beside the page only.
"""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

GENERATOR = '<meta name="generator" content="mixer">'
"""By this a page is known as one of ours, which may be written anew (HTML, "standard metadata names")."""
_HEAD_BYTES = 4096
_ASSETS = Path(__file__).parent / "assets"


def asset(name: str) -> str:
    """Give a script or style that comes with the program."""
    return (_ASSETS / name).read_text(encoding="utf-8")


def is_another(path: Path) -> bool:
    """Whether something stands there that is no page of ours, so that it must not be written over."""
    try:
        with path.open("rb") as stream:
            return GENERATOR.encode() not in stream.read(_HEAD_BYTES)
    except FileNotFoundError:
        return False
    except OSError:
        return True


_LINES = re.compile(r"(?:^ *\d* \| .*\n|^ +\^+\n)+", re.MULTILINE)


def as_told(text: str) -> str:
    """Give what is told of a recipe, as on a terminal; its lines are never broken, so that marks stay in place."""
    parts, at = [], 0
    for lines in _LINES.finditer(f"{text}\n"):
        parts += [html.escape(text[at : lines.start()]), f"<span>{html.escape(lines[0])}</span>"]
        at = lines.end()
    return f'<pre class="told" tabindex="0">{"".join(parts)}{html.escape(text[at:])}</pre>'


def document(
    title: str,
    body: str,
    style: str,
    script: str,
    data: Mapping[str, Any],
    language: str = "en",
    *,
    served: bool = False,
) -> str:
    """Put a page together.

    Parameters
    ----------
    title : plain text
    body : markup of our own
    style, script : of our own
    data : what the script shows, from anybody
    language : of the words, as in BCP 47
    served : whether it is served on the loopback address and may ask there for what is new
    """
    # Without "<" nothing ends or opens inside the block (HTML, "Restrictions for contents of script elements").
    content = json.dumps(data, ensure_ascii=False).replace("&", "\\u0026").replace("<", "\\u003c")
    content = content.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    policy = "; ".join(
        [
            "default-src 'none'",
            f"script-src {_digest(script)}",
            f"style-src {_digest(style)}",
            "media-src 'self' file: blob: data:",
            "img-src 'self' file: data:",
            "base-uri 'none'",
            "form-action 'none'",
            *(["connect-src 'self'"] if served else []),
        ]
    )
    return "\n".join(
        [
            "<!DOCTYPE html>",
            f'<html lang="{language}">',
            "<head>",
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            '<meta name="referrer" content="no-referrer">',
            GENERATOR,
            '<link rel="icon" href="data:,">',
            f"<title>{html.escape(title)}</title>",
            f"<style>{style}</style>",
            "</head>",
            "<body>",
            body,
            f'<script type="application/json" id="data">{content}</script>',
            f"<script>{script}</script>",
            "</body>",
            "</html>",
            "",
        ]
    )


def _digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
