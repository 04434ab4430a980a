"""Files shaped as phones and recorders write them: boxes by hand around what FFmpeg's libraries and libheif code.

Layouts after ISO/IEC 14496-12 (boxes, edit lists, matrices), ISO/IEC 14496-14 and 14496-3 (``esds``), ISO/IEC 23008-12
(items of a HEIC), the QuickTime file format, TIFF 6.0, RIFF and PNG; all from memory. That they are well formed shows
in that FFmpeg's libraries, libheif and Pillow read them.
"""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Iterable, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pillow_heif
from numpy.typing import NDArray
from PIL import Image, ImageCms

Box = list[Any]  # kind, and content: bytes, or the boxes inside
_NESTED = {b"moov", b"trak", b"mdia", b"minf", b"stbl", b"edts", b"udta"}


def boxes_of(data: bytes) -> list[Box]:
    """Take a file apart."""
    found: list[Box] = []
    at = 0
    while at + 8 <= len(data):
        long, kind, head = *struct.unpack_from(">I4s", data, at), 8
        if long == 1:
            long, head = struct.unpack_from(">Q", data, at + 8)[0], 16
        body = data[at + head : at + (long or len(data))]
        found.append([kind, boxes_of(body) if kind in _NESTED else body])
        at += long or len(data)
    return found


def joined(boxes: Iterable[Box]) -> bytes:
    """Put it together again; ``moov`` must stand behind ``mdat``, so that no offset changes."""
    out = b""
    for kind, body in boxes:
        out += box(kind, joined(body) if isinstance(body, list) else body)
    return out


def box(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I4s", len(body) + 8, kind) + body


def full_box(kind: bytes, body: bytes, version: int = 0, flags: int = 0) -> bytes:
    return box(kind, struct.pack(">I", version << 24 | flags) + body)


def inside(boxes: list[Box], *way: bytes) -> Box:
    """Give the first box on a way of kinds."""
    one = next(one for one in boxes if one[0] == way[0])
    return one if len(way) == 1 else inside(one[1], *way[1:])


def track_of(boxes: list[Box], number: int = 0) -> Box:
    return [one for one in inside(boxes, b"moov")[1] if one[0] == b"trak"][number]


def edited(data: bytes, edits: Sequence[tuple[float, float, float]], *, version: int = 0) -> bytes:
    """Give the first track an edit list: s shown, from which s of the track (-1: nothing is shown), and the pace."""
    boxes = boxes_of(data)
    track = track_of(boxes)
    movie = struct.unpack_from(">I", inside(boxes, b"moov", b"mvhd")[1], 12)[0]
    media = struct.unpack_from(">I", inside(track[1], b"mdia", b"mdhd")[1], 12)[0]
    body = struct.pack(">B3xI", version, len(edits))
    for seconds, begin, pace in edits:
        start = -1 if begin < 0 else round(begin * media)
        body += struct.pack(">QqI" if version else ">IiI", round(seconds * movie), start, round(pace * 65536))
    track[1][:] = [one for one in track[1] if one[0] != b"edts"]
    if edits:
        track[1].insert(1, [b"edts", [[b"elst", body]]])
    return joined(boxes)


def first_shown(data: bytes) -> float:
    """Where the only edit of the first track begins, s of the track."""
    track = track_of(boxes_of(data))
    media = struct.unpack_from(">I", inside(track[1], b"mdia", b"mdhd")[1], 12)[0]
    return float(struct.unpack_from(">i", inside(track[1], b"edts", b"elst")[1], 12)[0] / media)


def with_matrix(data: bytes, numbers: Sequence[float]) -> bytes:
    """Give the first track a display matrix: a, b, c, d of ISO/IEC 14496-12, 6.2.2."""
    boxes = boxes_of(data)
    head = inside(track_of(boxes)[1], b"tkhd")
    a, b, c, d = (round(number * 65536) for number in numbers)
    matrix = struct.pack(">9i", a, b, 0, c, d, 0, 0, 0, 1 << 30)
    head[1] = head[1][:40] + matrix + head[1][76:]
    return joined(boxes)


def with_cover(data: bytes) -> bytes:
    """Put a cover picture into an MP4's list of tags, as music programs do."""
    held = io.BytesIO()
    Image.new("RGB", (640, 480), "red").save(held, "JPEG")
    cover = box(b"ilst", box(b"covr", box(b"data", struct.pack(">II", 13, 0) + held.getvalue())))
    handler = box(b"hdlr", bytes(8) + b"mdirappl" + bytes(9))
    boxes = boxes_of(data)
    contents = inside(boxes, b"moov")
    contents[1][:] = [one for one in contents[1] if one[0] != b"udta"]
    contents[1].append([b"udta", [[b"meta", bytes(4) + handler + cover]]])
    return joined(boxes)


def doubled_by_replication(data: bytes) -> bytes:
    """Say of AAC at 24 000 Hz, mono, that it is HE-AAC at 48 000: explicit signalling of ISO/IEC 14496-3, 1.6.5."""
    boxes = boxes_of(data)
    table = inside(track_of(boxes)[1], b"mdia", b"minf", b"stbl", b"stsd")
    body = bytearray(table[1])
    bits = "".join(f"{value:0{width}b}" for value, width in ((5, 5), (6, 4), (1, 4), (3, 4), (2, 5), (0, 3)))
    config = int(bits.ljust(32, "0"), 2).to_bytes(4, "big")
    at = body.index(b"\x05\x80\x80\x80") + 4
    grown = len(config) - body[at]
    body[at : at + 1 + body[at]] = bytes([len(config)]) + config
    for mark in (b"\x03\x80\x80\x80", b"\x04\x80\x80\x80"):
        body[body.index(mark) + 4] += grown
    for place in (8, body.index(b"esds") - 4):
        struct.pack_into(">I", body, place, struct.unpack_from(">I", body, place)[0] + grown)
    table[1] = bytes(body)
    return joined(boxes)


def sounds(
    path: Path, tracks: Sequence[tuple[NDArray[Any], str]], *, rate: int = 48_000, layout: str = "mono",
    pause: tuple[float, float] | None = None, uneven: Sequence[float] = (), options: dict[str, str] | None = None,
    bit_rate: int = 0,
) -> bytes:  # fmt: skip
    """Code tracks ((channels, n) samples and the coder's name) into a file whose ending names the container.

    `pause` is where a pause begins, s of the sound, and how long it is; `uneven` are errors of the pieces' time stamps,
    s, a piece of 20 ms each.
    """
    with av.open(str(path), "w", options=options or {}) as out:
        streams = [out.add_stream(codec, rate=rate, layout=layout) for _, codec in tracks]
        for stream, (samples, _) in zip(streams, tracks, strict=True):
            if bit_rate:
                stream.bit_rate = bit_rate
            many = np.atleast_2d(np.asarray(samples, dtype=np.float32))
            cut = many.shape[1] if pause is None else round(pause[0] * rate)
            pieces = [(0, many[:, :cut])] + ([] if pause is None else [(cut + round(pause[1] * rate), many[:, cut:])])
            if len(uneven):
                size = rate // 50
                pieces = [
                    (k * size + round(off * rate), many[:, k * size : (k + 1) * size]) for k, off in enumerate(uneven)
                ]
            resampler = av.AudioResampler(format=stream.format.name, layout=layout, rate=rate)
            for start, piece in pieces:
                frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(piece), format="fltp", layout=layout)
                frame.sample_rate, frame.pts, frame.time_base = rate, start, Fraction(1, rate)
                for part in resampler.resample(frame):
                    out.mux(stream.encode(part))
            out.mux(stream.encode(None))
    return path.read_bytes()


def riff(chunks: Sequence[tuple[bytes, bytes, int | None]], *, form: bytes = b"RIFF", size: int | None = None) -> bytes:
    """A WAV out of chunks, each with the length that it claims; None: the true one."""
    body = b""
    for name, content, claimed in chunks:
        body += name + struct.pack("<I", len(content) if claimed is None else claimed) + content
        body += b"\0" * (len(content) % 2)
    return form + struct.pack("<I", len(body) + 4 if size is None else size) + b"WAVE" + body


def plain_format(bits: int = 16, rate: int = 48_000, tag: int = 1) -> bytes:
    return struct.pack("<HHIIHH", tag, 1, rate, rate * bits // 8, bits // 8, bits)


def extensible_format(bits: int, valid: int, tag: int, rate: int = 48_000) -> bytes:
    """WAVE_FORMAT_EXTENSIBLE of one channel, with the GUID of the tag's own form."""
    plain = struct.pack("<HHIIHH", 0xFFFE, 1, rate, rate * bits // 8, bits // 8, bits)
    return plain + struct.pack("<HHIH", 22, valid, 0, tag) + bytes.fromhex("000000001000800000aa00389b71")


def coded_heic(picture: Image.Image) -> tuple[bytes, bytes]:
    """Give the decoder's configuration and the coded picture, out of a HEIC that libheif wrote."""
    held = io.BytesIO()
    pillow_heif.from_pillow(picture).save(held, quality=90)
    data = held.getvalue()
    at = data.index(b"hvcC")
    config = data[at + 4 : at - 4 + struct.unpack_from(">I", data, at - 4)[0]]
    return config, inside(boxes_of(data), b"mdat")[1]


def heic_of_tiles(
    picture: Image.Image, tile: int = 64, *, turned: int | None = None, mirrored: int | None = None,
    orientation: int | None = None, beside: bool = True, size: tuple[int, int] | None = None, major: bytes = b"heic",
) -> bytes:  # fmt: skip
    """A HEIC as phones write it: a grid of tiles, with thumbnail, gain map and depth beside it, turned by its own box.

    `turned` are quarters counter-clockwise (``irot``), `mirrored` the axis (``imir``), `orientation` the EXIF tag.
    """
    wide, high = picture.size
    columns, rows = -(-wide // tile), -(-high // tile)
    padded = Image.new("RGB", (columns * tile, rows * tile))
    padded.paste(picture)
    items: list[tuple[bytes, bytes, bool]] = []  # kind, data, hidden
    properties: list[bytes] = []
    uses: list[list[int]] = []
    references = b""

    def own(*what: bytes) -> list[int]:
        properties.extend(what)
        return list(range(len(properties) - len(what) + 1, len(properties) + 1))

    for row in range(rows):
        for column in range(columns):
            left, top = column * tile, row * tile
            config, data = coded_heic(padded.crop((left, top, left + tile, top + tile)))
            items.append((b"hvc1", data, True))
            uses.append(own(box(b"hvcC", config), _extent(tile, tile)))
    wide, high = size or (wide, high)
    turns = [box(b"irot", bytes([turned]))] if turned is not None else []
    turns += [box(b"imir", bytes([mirrored]))] if mirrored is not None else []
    head = struct.pack(">BBBBII", 0, 1, rows - 1, columns - 1, wide, high)
    items.append((b"grid", head, False))
    uses.append(own(_extent(wide, high), full_box(b"pixi", b"\3\x08\x08\x08"), *turns))
    grid = len(items)
    references += _reference(b"dimg", grid, *range(1, grid))
    kinds = (b"", b"urn:com:photo:aux:gainmap", b"urn:mpeg:hevc:2015:auxid:2") if beside else ()
    for kind in kinds:
        config, data = coded_heic(picture.resize((tile, tile)))
        items.append((b"hvc1", data, True))
        uses.append(own(box(b"hvcC", config), _extent(tile, tile)))
        uses[-1] += own(full_box(b"auxC", kind + b"\0")) if kind else []
        references += _reference(b"auxl" if kind else b"thmb", len(items), grid)
    if orientation is not None:
        exif = Image.Exif()
        exif[0x0112] = orientation
        items.append((b"Exif", struct.pack(">I", 6) + exif.tobytes(), True))
        uses.append([])
        references += _reference(b"cdsc", len(items), grid)
    return _heic(items, references, properties, uses, grid, major)


def _extent(wide: int, high: int) -> bytes:
    return full_box(b"ispe", struct.pack(">II", wide, high))


def _reference(kind: bytes, source: int, *targets: int) -> bytes:
    return box(kind, struct.pack(">HH", source, len(targets)) + b"".join(struct.pack(">H", one) for one in targets))


def _heic(
    items: Sequence[tuple[bytes, bytes, bool]], references: bytes, properties: Sequence[bytes],
    uses: Sequence[Sequence[int]], primary: int, major: bytes,
) -> bytes:  # fmt: skip
    head = box(b"ftyp", major + bytes(4) + b"mif1" + b"heic")
    entries = b"".join(
        full_box(b"infe", struct.pack(">HH", number, 0) + kind + b"\0", 2, int(hidden))
        for number, (kind, _, hidden) in enumerate(items, 1)
    )
    used = b"".join(
        struct.pack(">HB", number, len(one)) + bytes(0x80 | index for index in one)
        for number, one in enumerate(uses, 1)
    )

    def meta(start: int) -> bytes:
        places = b""
        for number, (_, data, _) in enumerate(items, 1):
            places += struct.pack(">HHHII", number, 0, 1, start, len(data))
            start += len(data)
        return full_box(
            b"meta",
            full_box(b"hdlr", bytes(4) + b"pict" + bytes(13))
            + full_box(b"pitm", struct.pack(">H", primary))
            + full_box(b"iloc", b"\x44\0" + struct.pack(">H", len(items)) + places)
            + full_box(b"iinf", struct.pack(">H", len(items)) + entries)
            + full_box(b"iref", references)
            + box(b"iprp", box(b"ipco", b"".join(properties)) + full_box(b"ipma", struct.pack(">I", len(uses)) + used)),
        )

    start = len(head) + len(meta(0)) + 8
    return head + meta(start) + box(b"mdat", b"".join(data for _, data, _ in items))


def profile_with(curve: bytes) -> bytes:
    """Give Pillow's own sRGB profile with another tone curve (a whole tag) for all three colours."""
    old = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    count = struct.unpack_from(">I", old, 128)[0]
    table, body, start = b"", b"", 132 + 12 * count
    for number in range(count):
        name, begin, long = struct.unpack_from(">4sII", old, 132 + 12 * number)
        tag = curve if name in {b"rTRC", b"gTRC", b"bTRC"} else old[begin : begin + long]
        tag += bytes(-len(tag) % 4)
        table += struct.pack(">4sII", name, start + len(body), len(tag))
        body += tag
    rest = old[4:128] + struct.pack(">I", count) + table + body
    return struct.pack(">I", len(rest) + 4) + rest


def png_with(data: bytes, name: bytes, content: bytes) -> bytes:
    """Put a chunk behind the head of a PNG."""
    chunk = struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))
    return data[:33] + chunk + data[33:]


def tiff(tags: Sequence[tuple[int, int, int]]) -> bytes:
    """A TIFF of one directory and nothing behind it: tag, kind (3 or 4) and value, each single."""
    entries = b"".join(
        struct.pack("<HHI", tag, kind, 1) + struct.pack("<I" if kind == 4 else "<Hxx", value)
        for tag, kind, value in sorted(tags)
    )
    return b"II*\0" + struct.pack("<IH", 8, len(tags)) + entries + bytes(4)


def exif_of(named: Sequence[tuple[int, int, bytes]], numbers: Sequence[tuple[int, int, bytes]], order: str) -> bytes:
    """EXIF by hand (CIPA DC-008): tags of the first directory and of the camera's own, each with type and bytes.

    `order` is ``"<"`` or ``">"``; counts follow from the types 1 to 5 and 129 (UTF-8, since EXIF 3.0).
    """
    sizes = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 129: 1}

    def directory(tags: Sequence[tuple[int, int, bytes]], at: int) -> bytes:
        head, behind = struct.pack(f"{order}H", len(tags)), b""
        start = at + 2 + 12 * len(tags) + 4
        for tag, kind, value in sorted(tags):
            head += struct.pack(f"{order}HHI", tag, kind, len(value) // sizes[kind])
            if len(value) <= 4:
                head += value.ljust(4, b"\0")
            else:
                head += struct.pack(f"{order}I", start + len(behind))
                behind += value + b"\0" * (len(value) % 2)
        return head + bytes(4) + behind

    def first(place: int) -> bytes:
        return directory([*named, (0x8769, 4, struct.pack(f"{order}I", place))], 8)

    place = 8 + len(first(0))
    return (
        (b"II" if order == "<" else b"MM") + struct.pack(f"{order}HI", 42, 8) + first(place) + directory(numbers, place)
    )
