"""What stands on the sheets of a PDF that a browser printed, read without a PDF library."""

from __future__ import annotations

import re
import unicodedata
import zlib


def sheets(pdf: bytes) -> int:
    """How many sheets there are."""
    return len(re.findall(rb"/Type /Page\b", pdf))


def sizes(pdf: bytes) -> set[tuple[int, int]]:
    """The sizes of the sheets, points."""
    return {(round(float(w)), round(float(h))) for w, h in re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)}


def words(pdf: bytes) -> str:
    """All text on the sheets, in the order in which it was drawn, without spaces.

    A font of the PDF numbers its signs and tells which number is which sign; each piece of text is read by the font
    that was chosen before it.
    """
    objects = {int(number): body for number, body in re.findall(rb"(\d+) 0 obj\s*(.*?)endobj", pdf, re.DOTALL)}
    signs = {number: _signs(objects, body) for number, body in objects.items() if b"/ToUnicode" in body}
    found = []
    for body in objects.values():
        if b"/Type /Page\n" not in body:
            continue
        fonts = {name: signs[int(number)] for name, number in re.findall(rb"/(F\d+) (\d+) 0 R", body)}
        for number in re.findall(rb"/Contents (\d+) 0 R", body):
            found.append(_read(_stream(objects[int(number)]), fonts))
    return "".join(unicodedata.normalize("NFKC", "".join(found)).split())


def _stream(body: bytes) -> bytes:
    raw = body[body.index(b"stream") + 6 :].lstrip(b"\r\n")
    return zlib.decompressobj().decompress(raw) if b"/FlateDecode" in body else raw


def _signs(objects: dict[int, bytes], font: bytes) -> dict[bytes, str]:
    """The sign of each number of a font, from its table of both."""
    [table] = re.findall(rb"/ToUnicode (\d+) 0 R", font)
    text, signs = _stream(objects[int(table)]), {}
    for block in re.findall(rb"beginbfchar(.*?)endbfchar", text, re.DOTALL):
        for number, sign in re.findall(rb"<([0-9A-F]+)>\s*<([0-9A-F]+)>", block):
            signs[number] = bytes.fromhex(sign.decode()).decode("utf-16-be")
    for block in re.findall(rb"beginbfrange(.*?)endbfrange", text, re.DOTALL):
        for first, last, sign in re.findall(rb"<([0-9A-F]+)>\s*<([0-9A-F]+)>\s*<([0-9A-F]+)>", block):
            for k in range(int(last, 16) - int(first, 16) + 1):
                signs[b"%04X" % (int(first, 16) + k)] = chr(int(sign, 16) + k)
    return signs


def _read(content: bytes, fonts: dict[bytes, dict[bytes, str]]) -> str:
    signs: dict[bytes, str] = {}
    found = []
    for name, piece in re.findall(rb"/(F\d+) [\d.]+ Tf|<([0-9A-F]+)>", content):
        if name:
            signs = fonts.get(name, {})
        else:
            found += [signs.get(piece[k : k + 4], "") for k in range(0, len(piece), 4)]
    return "".join(found)
