"""From a file's bytes to plain XML in UTF-8: unpacked if compressed, and recoded if in another encoding."""

from __future__ import annotations

import codecs
import re
import zlib
from typing import Final, NoReturn

from convert.errors import DrawingError, Place

MAX_BYTES: Final = 128 << 20
"""Of plain text: a drawing of 100,000 pieces has about 20 MB."""
_GZIP: Final = b"\x1f\x8b"
_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
    (b"<\0?\0", "utf-16-le"),
    (b"<\0s\0", "utf-16-le"),
    (b"\0<\0?", "utf-16-be"),
    (b"\0<\0s", "utf-16-be"),
)
_DECLARED: Final = re.compile(rb"<\?xml[^>]{0,200}?\sencoding\s*=\s*[\"']([A-Za-z][A-Za-z0-9._:-]*)[\"']")
_NOT_FOR_FILES: Final = frozenset({"idna", "punycode", "undefined", "unicode_escape", "raw_unicode_escape"})


def plain_xml(data: bytes) -> bytes:
    """Return an SVG file's text in UTF-8, unpacked.

    *Errors*: DrawingError READ-001 to READ-003 and READ-005.
    """
    data = _unpacked(data)
    if len(data) > MAX_BYTES:
        refuse("READ-003", f"the file holds over {MAX_BYTES >> 20} MB", "Split the drawing")
    if not data.strip(b" \t\r\n\0"):
        refuse("READ-001", "the file is empty", "Save the drawing again")
    return _as_utf8(data)


def refuse(code: str, what: str, advice: str, line: int | None = None) -> NoReturn:
    """Raise a DrawingError."""
    raise DrawingError.because(code, what, advice, place=Place(line=line))


def _unpacked(data: bytes) -> bytes:
    """Return the contents of a gzip file (of one member or several), anything else as it is."""
    parts, total = [], 0
    while data[:2] == _GZIP:
        unpack = zlib.decompressobj(zlib.MAX_WBITS | 16)
        try:
            plain = unpack.decompress(data, MAX_BYTES + 1 - total)
        except zlib.error as fault:
            what = f"the compressed file is damaged ({fault})"
            raise DrawingError.because("READ-002", what, "Save it again") from fault
        total += len(plain)
        if total > MAX_BYTES:
            refuse("READ-003", f"unpacked, the file holds over {MAX_BYTES >> 20} MB", "Split the drawing")
        if not unpack.eof:
            refuse("READ-002", "the compressed file is cut short", "Save it again")
        parts.append(plain)
        data = unpack.unused_data
        if data[:2] != _GZIP:
            return b"".join(parts)
    return data


def _as_utf8(data: bytes) -> bytes:
    """Return the text in UTF-8, whatever encoding its first bytes or its XML declaration name.

    *Source*: XML 1.0, appendix F; a declaration that could be read as ASCII can't be in UTF-16, so
    UTF-8 is meant then (as HTML has it for such pages).
    """
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return data[3:] if encoding == "utf-8" else _recoded(data, encoding)
    found = _DECLARED.match(data[:400].lstrip())
    encoding = found[1].decode("ascii").lower() if found else "utf-8"
    if encoding in {"utf-8", "utf8", "us-ascii", "ascii"} or encoding.startswith(
        ("utf-16", "utf16", "ucs-2")
    ):
        return data
    return _recoded(data, encoding)


def _recoded(data: bytes, encoding: str) -> bytes:
    try:
        known = codecs.lookup(encoding).name.replace("-", "_") not in _NOT_FOR_FILES
        plain = data.decode(encoding) if known else ""
    except LookupError:
        known, plain = False, ""
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        what = f"the file is not in the encoding that it names, {encoding}"
        raise DrawingError.because("READ-005", what, "Save it as UTF-8", place=Place(line=line)) from fault
    except UnicodeError as fault:
        what = f"the file is not in the encoding that it names, {encoding}"
        raise DrawingError.because("READ-005", what, "Save it as UTF-8") from fault
    if not known:
        refuse("READ-005", f"the file names an unknown encoding, {encoding}", "Save it as UTF-8", 1)
    return plain.encode("utf-8", "surrogatepass")
