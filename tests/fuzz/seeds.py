"""Seeds for the fuzzers: `seeds.py FOLDER` fills a folder a target from the books, the README and a few pictures made here."""

import glob
import re
import struct
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
out = Path(sys.argv[1])


def seed(target, name, content):
    folder = out / target
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_bytes(content)


def segment(marker, content):
    return bytes([0xFF, marker]) + struct.pack(">H", len(content) + 2) + content


# A latitude, a maker's name and which way up, as a telephone writes them.
EXIF = (
    b"MM\0\x2a\0\0\0\x08\0\x03"
    b"\x01\x0f\0\x02\0\0\0\x04abc\0"
    b"\x01\x12\0\x03\0\0\0\x01\0\x06\0\0"
    b"\x88\x25\0\x04\0\0\0\x01\0\0\0\x32\0\0\0\0"
    b"\0\x02\0\x01\0\x02\0\0\0\x02N\0\0\0\0\x02\0\x05\0\0\0\x03\0\0\0\x50\0\0\0\0"
    + struct.pack(">6I", 1, 1, 2, 1, 3, 1)
)
DRAWING = segment(0xDB, bytes(65)) + segment(0xC2, bytes([8, 0, 8, 0, 8, 1, 1, 0x11, 0])) + segment(0xC4, bytes(18))
DRAWING += segment(0xDA, bytes([1, 1, 0, 0, 63, 0])) + b"\x12\xff\x00\x34\xff\xd0\x56"
seed("exif", "jpeg", b"\xff\xd8" + segment(0xE0, b"JFIF\0\1\1\0\0\1\0\1\0\0") + segment(0xE1, b"Exif\0\0" + EXIF) + segment(0xEE, b"Adobe\0\x64\0\0\0\0\1") + DRAWING + b"\xff\xd9")
seed("exif", "tiff", EXIF)


def chunk(kind, content):
    return struct.pack(">I", len(content)) + kind + content + bytes(4)


PNG = b"\x89PNG\r\n\x1a\n"
seed("exif", "png", PNG + chunk(b"IHDR", bytes(13)) + chunk(b"eXIf", EXIF) + chunk(b"tEXt", b"a\0b") + chunk(b"IDAT", b"abc") + chunk(b"IEND", b""))


def part(kind, content):
    return kind + struct.pack("<I", len(content)) + content + bytes(len(content) % 2)


webp = b"WEBP" + part(b"VP8X", bytes([0x08] + [0] * 9)) + part(b"VP8 ", b"abcdefghij") + part(b"EXIF", EXIF)
seed("exif", "webp", b"RIFF" + struct.pack("<I", len(webp)) + webp)


def cut(text, lines):
    """The first lines of a record's front matter as a record of their own: what a fuzzer tries thousands of times should be short."""
    kept = text.split(b"\n---\n", 1)[0].splitlines()[:lines]
    return b"\n".join(kept) + b"\n---\n\n- [ ] look again (by 2026-12-01)\n"


jobs = sorted(glob.glob(str(ROOT / "example-sites/sites/*/2*.md"))) + [str(ROOT / "tests/sound-book/sites/elm-row/2026-11-02-shed.md")]
for index, path in enumerate(jobs):
    text = Path(path).read_bytes()
    seed("body", f"job-{index}", text.split(b"\n---\n", 1)[-1])
    text = cut(text, 12 + 7 * (index % 7))
    seed("record", f"job-{index}", text)
    seed("fix", f"job-{index}", text)
    # The slips that fixes are there for.
    seed("fix", f"comma-{index}", re.sub(rb"(_ohm: \d)\.", rb"\1,", text))
    seed("fix", f"windows-{index}", text.replace(b"\n", b"\r\n").replace(b"title: ", b"title:\xc2\xa0"))
    seed("fix", f"unquoted-{index}", text.replace(b'">999"', b">999").replace(b"---", "\u2014".encode(), 1))
    asks = [b"t\x03\0\x03\0abc", b"k", b"t\x05\0\x06\0", b"0\x07\x04", b"1\x07\x04", b"2\x07\x04", b"3\x07\x04", b"4\0\0", b"5\x40\x40", b"a", b"c"]
    seed("lsp", f"typing-{index}", b"o" + text.replace(b"\n", b"\1") + b"\n" + b"\n".join(asks[index % 5 : index % 5 + 6]))
    if index % 4 == 0:
        seed("lsp", f"bytes-{index}", b"8o" + text.replace(b"\n", b"\1") + b"\n" + b"\n".join(asks))
DOCUMENT = b'"textDocument":{"uri":"@U"}'
for index, method in enumerate([b"hover", b"completion", b"definition", b"documentSymbol", b"codeAction"]):
    params = b'{%s,"position":{"line":3,"character":2},"range":{"start":{"line":0,"character":0},"end":{"line":9,"character":0}},"context":{"diagnostics":[]}}'
    ask = b'{"id":%d,"method":"textDocument/%s","params":%s}' % (index + 1, method, params % DOCUMENT)
    opening = b'{"method":"textDocument/didOpen","params":{"textDocument":{"uri":"@U","version":1,"languageId":"markdown","text":"---\\nrecord: job\\n---\\n"}}}'
    rest = [b'{"method":"$/cancelRequest","params":{"id":%d}}' % (index + 1), b'{"id":"b","method":"shutdown"}', b'{"method":"exit"}']
    seed("lsp", f"messages-{index}", b"W" + b"\n".join([opening, ask, *rest]))
message = b'{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"capabilities":{}}}'
seed("lsp", "wire", b"Content-Length: %d\r\n\r\n%s" % (len(message), message))

asked = set(re.findall(r"--where '([^']+)'", "\n".join(p.read_text() for p in [ROOT / "README.md", *ROOT.glob("tests/s*/*.rs")])))
asked |= set(re.findall(r'"(\$[.\[][^"\n]+)"', "\n".join(p.read_text() for p in ROOT.glob("tests/**/*.rs"))))
for index, text in enumerate(sorted(asked)):
    seed("query", f"where-{index}", text.encode())
for index, text in enumerate(["shed\ncharger", "elm row", "tripp", "7.36 kW", "2026-11-02"]):
    seed("query", f"words-{index}", text.encode())
