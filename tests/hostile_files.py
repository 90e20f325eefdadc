"""Pattern files that lie, are broken or mean harm, each small on disk, and what each must be refused for."""

from __future__ import annotations

import json
import struct
import zlib
from collections.abc import Mapping

import numpy as np
from tests import pattern_files as good

from pourwright.shape.pattern import solids
from pourwright.shape.pattern.formats.kinds import ENDINGS

_RING = solids.torus(9.5, 1.25, 12, 6)
POINTS, FACES = _RING.vertices_mm, _RING.faces
_MESH = good.mesh_xml(POINTS, FACES)


def hostile() -> dict[str, tuple[bytes, str]]:
    """Return each file's name with its content and the code it must be refused with."""
    return {**_stl(), **_obj(), **_ply(), **_off(), **_glb(), **_three_mf(), **_archives(), **_step(), **_disguised()}


def harmless() -> dict[str, bytes]:
    """Return files that point outside themselves or carry a bomb that nothing needs: all hold the ring."""
    return {
        "library.obj": good.obj(POINTS, FACES, "mtllib ../../../../etc/passwd\nusemtl gold\n"),
        "outside.3mf": good.package(_model(), {"../../../../tmp/outside": b"not to be written"}),
        "unused.3mf": with_bomb(good.package(_model()), "3D/other.model"),
        "colours.3mf": good.package(
            good.model_xml(
                '<m:colorgroup id="7"><m:color color="#CAD1EE"/></m:colorgroup>'
                + good.object_xml(1, _MESH, 'pid="7" pindex="0"'),
                attributes=f'unit="millimeter" xmlns:m="{good.MATERIAL}" requiredextensions="m"',
            )
        ),
    }


def _model(objects: str = "", **more: object) -> bytes:
    return good.model_xml(objects or good.object_xml(1, _MESH), **more)


def _stl() -> dict[str, tuple[bytes, str]]:
    whole = good.stl(POINTS, FACES)
    text = good.stl_text(POINTS, FACES)
    return {
        "empty.stl": (b"", "shape.file-empty"),
        "header.stl": (whole[:70], "shape.file-no-pattern"),
        "none.stl": (good.stl(POINTS, FACES[:0]), "shape.file-no-triangles"),
        "count-4e9.stl": (whole[:80] + b"\xff" * 4 + whole[84:], "shape.file-cut"),
        "count-low.stl": (whole[:80] + (3).to_bytes(4, "little") + whole[84:], "shape.stl-count"),
        "cut.stl": (whole[: len(whole) * 2 // 3], "shape.file-cut"),
        "nan.stl": (_with_number(whole, 96, np.nan), "shape.file-not-finite"),
        "inf.stl": (_with_number(whole, 96, np.inf), "shape.file-not-finite"),
        "3e38.stl": (_with_number(whole, 96, 3e38), "shape.file-far"),
        "cut-text.stl": (text[: len(text) // 2], "shape.stl-text-cut"),
        "comma-text.stl": (text.replace(b".", b","), "shape.stl-comma"),
        "nan-text.stl": (text.replace(b"vertex 10.75", b"vertex nan", 1), "shape.file-not-finite"),
    }


def _with_number(content: bytes, at: int, number: float) -> bytes:
    return content[:at] + np.float32(number).tobytes() + content[at + 4 :]


def _obj() -> dict[str, tuple[bytes, str]]:
    whole = good.obj(POINTS, FACES)
    return {
        "index.obj": (whole + b"f 1 2 999\n", "shape.file-index"),
        "index-back.obj": (whole + b"f 1 2 -999\n", "shape.file-index"),
        "index-zero.obj": (whole + b"f 0 1 2\n", "shape.file-index"),
        "index-1e30.obj": (whole + b"f 1 2 " + b"9" * 30 + b"\n", "shape.file-index"),
        "no-number.obj": (whole + b"f 1 2 three\n", "shape.file-line"),
        "comma.obj": (whole.replace(b".", b","), "shape.file-comma"),
        "two-numbers.obj": (b"v 1 2\n" + whole, "shape.file-line"),
        "nan.obj": (whole.replace(b"v 10.75", b"v nan", 1), "shape.file-not-finite"),
        "far.obj": (whole.replace(b"v 10.75", b"v 1e39", 1), "shape.file-far"),
        "short-face.obj": (whole + b"f 1 2\n", "shape.file-face-short"),
        "points.obj": (b"v 1 2 3\n" * 9, "shape.file-no-triangles"),
        "free-form.obj": (whole + b"cstype bspline\nsurf 0 1 0 1 1 2 3 4\n", "shape.obj-other-shape"),
        "called.obj": (whole + b"call ../secret.obj\n", "shape.obj-other-shape"),
        "cut.obj": (whole[: whole.rfind(b" ")] + b"\n", "shape.file-face-short"),
    }


def _ply() -> dict[str, tuple[bytes, str]]:
    whole, text = good.ply(POINTS, FACES), good.ply_text(POINTS, FACES)
    corners, faces = str(len(POINTS)).encode(), str(len(FACES)).encode()
    odd = good.ply(POINTS, [*FACES.tolist(), [0, 1, 2, 3]])
    return {
        "vertices-4e9.ply": (whole.replace(b"vertex " + corners, b"vertex 4000000000"), "shape.ply-cut"),
        "faces-4e9.ply": (whole.replace(b"face " + faces, b"face 4000000000"), "shape.ply-cut"),
        "vertices-4e9-text.ply": (text.replace(b"vertex " + corners, b"vertex 4000000000"), "shape.ply-cut"),
        "count-1e30.ply": (whole.replace(b"face " + faces, b"face " + b"9" * 30), "shape.ply-header"),
        "list-255.ply": (whole[:-13] + b"\xff" + whole[-12:], "shape.ply-cut"),
        "list-4e9.ply": (
            good.ply_header("binary_little_endian", 0, 1, "property list uint int vertex_indices")
            + b"\xff\xff\xff\xff",
            "shape.ply-cut",
        ),
        "index.ply": (whole[:-4] + (10**9).to_bytes(4, "little"), "shape.file-index"),
        "index-below.ply": (whole[:-4] + b"\xff" * 4, "shape.file-index"),
        "index-mixed.ply": (odd[:-4] + (10**9).to_bytes(4, "little"), "shape.file-index"),
        "nan.ply": (_with_number(whole, whole.find(b"end_header\n") + 11, np.nan), "shape.file-not-finite"),
        "cut.ply": (whole[: len(whole) * 2 // 3], "shape.ply-cut"),
        "cut-text.ply": (text[: len(text) * 2 // 3], "shape.ply-cut"),
        "comma-text.ply": (text.replace(b"0.", b"0,"), "shape.file-comma"),
        "fraction.ply": (text.rstrip() + b".5\n", "shape.file-index"),
        "junk.ply": (b"ply\nformat binary_little_endian 1.0\nproperty \0\0\x07\0", "shape.ply-header"),
        "no-z.ply": (whole.replace(b"property float z", b"property float w"), "shape.ply-header"),
        "endless.ply": (b"ply\n" + b"comment \n" * 20_000, "shape.ply-header"),
        "strips.ply": (good.ply_strips(POINTS, [[0, 1, 99_999]]), "shape.file-index"),
        "no-faces.ply": (good.ply(POINTS, []), "shape.file-no-triangles"),
    }


def _off() -> dict[str, tuple[bytes, str]]:
    whole = good.off(POINTS, FACES)
    counts = f"{len(POINTS)} {len(FACES)} 0".encode()
    return {
        "count-2e9.off": (whole.replace(counts, b"2000000000 6 0"), "shape.file-cut-lines"),
        "count-below.off": (whole.replace(counts, b"-1 6 0"), "shape.file-line"),
        "no-counts.off": (b"OFF\n", "shape.file-line"),
        "index.off": (whole.rstrip().rpartition(b" ")[0] + b" 999\n", "shape.file-index"),
        "cut.off": (whole[: len(whole) * 2 // 3], "shape.file-cut-lines"),
        "nan.off": (whole.replace(b"\n10.75", b"\nnan", 1), "shape.file-not-finite"),
        "comma.off": (whole.replace(b"0.", b"0,"), "shape.file-comma"),
        "binary.off": (b"OFF BINARY\n" + bytes(40), "shape.off-kind"),
        "four.off": (b"4OFF\n1 1 1\n0 0 0 1\n", "shape.off-kind"),
    }


def _glb() -> dict[str, tuple[bytes, str]]:
    whole = good.glb(POINTS, FACES)
    text, data = _glb_parts(whole)
    places, numbers = text["accessors"]
    views = text["bufferViews"]
    mesh = {"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}
    return {
        "cut.glb": (whole[:-40], "shape.file-cut-bytes"),
        "head.glb": (whole[:10], "shape.file-cut-bytes"),
        "old.glb": (whole[:4] + struct.pack("<I", 1) + whole[8:], "shape.glb-version"),
        "deep.glb": (good.glb_of(b'{"a":' * 90_000, b""), "shape.glb-broken"),
        "list.glb": (good.glb_of(b"[1, 2]", b""), "shape.glb-broken"),
        "words.glb": (good.glb(POINTS, FACES, {"nodes": [{"mesh": 0, "scale": "wide"}]}), "shape.glb-broken"),
        "count-4e9.glb": (_glb_with({"accessors": [{**places, "count": 2**32}, numbers]}), "shape.file-cut-bytes"),
        "faces-4e9.glb": (_glb_with({"accessors": [places, {**numbers, "count": 2**33}]}), "shape.too-many-triangles"),
        "before.glb": (_glb_with({"bufferViews": [{**views[0], "byteOffset": -64}, views[1]]}), "shape.file-cut-bytes"),
        "stride.glb": (_glb_with({"bufferViews": [{**views[0], "byteStride": 1}, views[1]]}), "shape.file-cut-bytes"),
        "index.glb": (good.glb_of(json.dumps(text).encode(), data[:-4] + b"\xff" * 4), "shape.file-index"),
        "nan.glb": (good.glb_of(json.dumps(text).encode(), _with_number(data, 0, np.nan)), "shape.file-not-finite"),
        "cycle.glb": (_glb_with({"nodes": [{"mesh": 0, "children": [0]}]}), "shape.glb-node-twice"),
        "twice.glb": (_glb_with({"nodes": [{"mesh": 0, "children": [1, 1]}, {"mesh": 0}]}), "shape.glb-node-twice"),
        "elsewhere.glb": (_glb_with({"buffers": [{"uri": "../secret", "byteLength": 9}]}), "shape.glb-elsewhere"),
        "squeezed.glb": (_glb_with({"extensionsRequired": ["KHR_draco_mesh_compression"]}), "shape.file-extension"),
        "instances.glb": (
            _glb_with({"nodes": [{"mesh": 0, "extensions": {"EXT_mesh_gpu_instancing": {}}}]}), "shape.file-extension"
        ),
        "posed.glb": (_glb_with({"nodes": [{"mesh": 0, "skin": 0}]}), "shape.file-extension"),
        "morphed.glb": (_glb_with({"meshes": [{**mesh, "weights": [0.5]}]}), "shape.file-extension"),
        "sparse.glb": (_glb_with({"accessors": [{**places, "sparse": {}}, numbers]}), "shape.file-extension"),
        "nothing.glb": (_glb_with({"nodes": [{}]}), "shape.file-no-triangles"),
    }  # fmt: skip


def _glb_parts(whole: bytes) -> tuple[dict, bytes]:
    length = struct.unpack_from("<I", whole, 12)[0]
    return json.loads(whole[20 : 20 + length]), whole[28 + length :]


def _glb_with(changes: Mapping[str, object]) -> bytes:
    return good.glb(POINTS, FACES, changes)


def _three_mf() -> dict[str, tuple[bytes, str]]:
    ring = good.object_xml(1, _MESH)
    beams = f'xmlns:b="{good.BEAMS}" unit="millimeter"'
    slices = 'xmlns:s="http://schemas.microsoft.com/3dmanufacturing/slice/2015/07" unit="millimeter"'
    entities = (
        '<!DOCTYPE m [<!ENTITY a "aaaaaaaaaa">'
        + "".join(f'<!ENTITY {chr(98 + n)} "' + f"&{chr(97 + n)};" * 10 + '">' for n in range(9))
        + "]>"
    )
    outside = '<!DOCTYPE m [<!ENTITY secret SYSTEM "file:///etc/passwd">]>'
    files = {
        "entities": (_model(ring + "<metadata>&j;</metadata>", before=entities), "shape.three-mf-doctype"),
        "entity-outside": (_model(ring + "<metadata>&secret;</metadata>", before=outside), "shape.three-mf-doctype"),
        "components-1e9": (_nested(14, 7), "shape.three-mf-instances"),
        "components-1e17": (_nested(300, 7), "shape.three-mf-instances"),
        "deep": (_nested(1, 12), "shape.three-mf-deep"),
        "very-deep": (_nested(1, 5_000), "shape.three-mf-deep"),
        "cycle": (_circle(), "shape.three-mf-cycle"),
        "nan": (_model(ring.replace('x="10.75', 'x="nan', 1)), "shape.file-not-finite"),
        "inf": (_model(ring.replace('x="10.75', 'x="1e999', 1)), "shape.file-not-finite"),
        "comma": (_model(ring.replace('x="10.', 'x="10,', 1)), "shape.file-comma"),
        "no-x": (_model(ring.replace('x="10', 'w="10', 1)), "shape.file-line"),
        "index": (_model(ring.replace('v3="', 'v3="99', 1)), "shape.file-index"),
        "index-below": (_model(ring.replace('v3="', 'v3="-', 1)), "shape.file-index"),
        "index-1e30": (_model(ring.replace('v3="', f'v3="{"9" * 30}', 1)), "shape.file-line"),
        "no-corners": (_model(good.object_xml(1, good.mesh_xml(POINTS[:0], FACES))), "shape.file-index"),
        "furlong": (_model(ring, attributes='unit="furlong"'), "shape.three-mf-unit"),
        "beams": (_model(ring.replace("</mesh>", "<b:beamlattice><b:beams/></b:beamlattice></mesh>"), attributes=beams),
                  "shape.file-extension"),
        "slices": (_model(good.object_xml(1, _MESH, 's:slicestackid="9"'), attributes=slices), "shape.file-extension"),
        "required": (_model(ring, attributes='xmlns:q="http://example.org/shape" requiredextensions="q"'),
                     "shape.file-extension"),
        "no-object": (_model(ring, items=['objectid="9"']), "shape.three-mf-object-missing"),
        "object-twice": (_model(ring + ring), "shape.three-mf-object-twice"),
        "hollow-object": (_model(good.object_xml(1, "")), "shape.three-mf-empty-object"),
        "no-build": (_model(ring, items=[]), "shape.three-mf-nothing-built"),
        "surface": (_model(good.object_xml(1, _MESH, 'type="surface"')), "shape.three-mf-kind"),
        "supports": (_model(good.object_xml(1, _MESH, 'type="support"')), "shape.three-mf-nothing-built"),
        "flat": (_model(ring, items=['objectid="1" transform="1 0 0 0 1 0 0 0 0 0 0 0"']), "shape.three-mf-flat"),
        "transform-nan": (_model(ring, items=['objectid="1" transform="nan 0 0 0 1 0 0 0 1 0 0 0"']),
                          "shape.three-mf-flat"),
        "transform-short": (_model(ring, items=['objectid="1" transform="1 0 0"']), "shape.file-line"),
        "path": (_model(ring, items=['objectid="1" p:path="/../../secret.model"'],
                        attributes=f'xmlns:p="{good.PRODUCTION}" unit="inch"'), "shape.three-mf-part-missing"),
        "xml": (_model()[:-40], "shape.three-mf-xml"),
        "other-xml": (b"<model/>", "shape.three-mf-no-model"),
        "encoding": (b'<?xml version="1.0" encoding="no-such"?><model/>', "shape.three-mf-xml"),
    }  # fmt: skip
    return {f"{name}.3mf": (good.package(model), code) for name, (model, code) in files.items()}


def _nested(width: int, depth: int) -> bytes:
    """Return objects of ``width`` components each, ``depth`` deep over one ring."""
    objects = good.object_xml(1, _MESH)
    for number in range(2, depth + 2):
        objects += good.object_xml(number, good.components_xml(*[f'objectid="{number - 1}"'] * width))
    return good.model_xml(objects, [f'objectid="{depth + 1}"'])


def _circle() -> bytes:
    one = good.object_xml(1, good.components_xml('objectid="2"'))
    return good.model_xml(one + good.object_xml(2, good.components_xml('objectid="1"')))


def _archives() -> dict[str, tuple[bytes, str]]:
    whole = good.package(_model())
    other = good.model_xml(good.object_xml(2, _MESH), [], 'unit="inch"')
    with_path = good.model_xml(
        good.object_xml(1, _MESH),
        ['objectid="2" p:path="/3D/b.model"'],
        f'unit="millimeter" xmlns:p="{good.PRODUCTION}"',
    )
    mixed = {"3D/b.model": other, "3D/_rels/3dmodel.model.rels": good.relationships("/3D/b.model")}
    away = good.relationships("http://example.org/m").replace(b"Target=", b'TargetMode="External" Target=')
    return {
        "bomb.3mf": (with_bomb(good.package(b"")), "shape.zip-bomb"),
        "bomb-that-lies.3mf": (with_bomb(good.package(b""), lies=True), "shape.zip-broken"),
        "bomb-in-relationships.3mf": (with_bomb(good.package(b""), "_rels/.rels"), "shape.zip-bomb"),
        "cut.3mf": (whole[: len(whole) * 2 // 3], "shape.zip-broken"),
        "damaged.3mf": (_damaged(whole), "shape.zip-broken"),
        "no-model.3mf": (good.zipped({"letter.txt": b"dear caster"}), "shape.three-mf-no-model"),
        "lost-model.3mf": (_archive_naming("/3D/gone.model"), "shape.three-mf-part-missing"),
        "outside.3mf": (_archive_naming("/../../etc/passwd"), "shape.three-mf-part-missing"),
        "away.3mf": (good.zipped({"_rels/.rels": away}), "shape.three-mf-outside"),
        "locked.3mf": (_locked(whole), "shape.zip-locked"),
        "crowd.3mf": (good.zipped({f"{n}": b"" for n in range(5_000)}), "shape.zip-crowded"),
        "twins.3mf": (good.package(_model(), {good.ROOT.upper(): _model()}), "shape.zip-twice"),
        "two-units.3mf": (good.package(with_path, mixed), "shape.three-mf-units-mixed"),
    }  # fmt: skip


def _archive_naming(target: str) -> bytes:
    return good.zipped({"_rels/.rels": good.relationships(target)})


def with_bomb(archive: bytes, name: str = good.ROOT, size: int = 1 << 30, lies: bool = False) -> bytes:
    """Return an archive in which one part unpacks from about a megabyte to a gigabyte; with ``lies`` it says 1 000."""
    from io import BytesIO
    from zipfile import ZipFile

    with ZipFile(BytesIO(archive)) as old:
        parts = {info.filename: old.read(info) for info in old.infolist() if info.filename != name}
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    block = packer.compress(b" " * (1 << 20)) + packer.flush(zlib.Z_FULL_FLUSH)
    bomb = block * (size >> 20) + b"\x03\x00"
    out, places = b"", []
    for one, content in [*parts.items(), (name, None)]:
        packed = bomb if content is None else zlib.compress(content, 6)[2:-4]
        long = (1_000 if lies else size) if content is None else len(content)
        fields = struct.pack("<HHHHHIIIHH", 20, 0, 8, 0, 33, zlib.crc32(content or b""), len(packed), long, len(one), 0)
        places.append((one, fields, len(out)))
        out += b"PK\x03\x04" + fields + one.encode() + packed
    listing = b"".join(
        b"PK\x01\x02" + struct.pack("<H", 20) + fields + struct.pack("<HHHII", 0, 0, 0, 0, at) + one.encode()
        for one, fields, at in places
    )
    return (
        out
        + listing
        + b"PK\x05\x06"
        + struct.pack("<HHHHIIH", 0, 0, len(places), len(places), len(listing), len(out), 0)
    )


def _damaged(whole: bytes) -> bytes:
    at = whole.find(good.ROOT.encode()) + len(good.ROOT) + 200
    return whole[:at] + bytes(50) + whole[at + 50 :]


def _locked(whole: bytes) -> bytes:
    """Set the flag of encryption on every part."""
    out = bytearray(whole)
    for mark, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = whole.find(mark)
        while at >= 0:
            out[at + offset] |= 1
            at = whole.find(mark, at + 1)
    return bytes(out)


def _step() -> dict[str, tuple[bytes, str]]:
    whole = good.step_rod(2.0, 10.0)
    return {
        "cut.step": (whole[: len(whole) // 2], "shape.step-cut"),
        "no-solid.stp": (whole.replace(b"MANIFOLD_SOLID_BREP", b"NO_SUCH_WORD"), "shape.file-no-triangles"),
    }


def _disguised() -> dict[str, tuple[bytes, str]]:
    page = b"<!DOCTYPE html><html><body>404: not found</body></html>" * 9
    letter = b"Dear caster, this is no pattern at all, only words in a file with a wrong ending."
    return {
        **{f"page{ending}": (page, "shape.file-no-pattern") for ending in ENDINGS},
        "really-3mf.stl": (good.three_mf(POINTS, FACES), "shape.file-other-kind"),
        "really-stl.3mf": (good.stl(POINTS, FACES), "shape.file-other-kind"),
        "really-obj.ply": (good.obj(POINTS, FACES), "shape.file-other-kind"),
        "really-ply.obj": (good.ply(POINTS, FACES), "shape.file-other-kind"),
        "really-step.off": (good.step_rod(2.0, 10.0), "shape.file-other-kind"),
        "letter.obj": (letter, "shape.file-no-pattern"),
        "picture.glb": (b"\x89PNG\r\n\x1a\n" + bytes(60), "shape.file-no-pattern"),
    }  # fmt: skip
