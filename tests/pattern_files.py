"""Good pattern files of every format, written from a mesh by plain means of our own."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from collections.abc import Mapping, Sequence

import numpy as np

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
BEAMS = "http://schemas.microsoft.com/3dmanufacturing/beamlattice/2017/02"
MATERIAL = "http://schemas.microsoft.com/3dmanufacturing/material/2015/02"
MODEL_KIND = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
ROOT = "3D/3dmodel.model"


def stl(points, faces) -> bytes:
    corners = np.asarray(points)[faces].astype("<f4")
    rows = b"".join(bytes(12) + one.tobytes() + bytes(2) for one in corners)
    return b"our own pattern".ljust(80) + len(corners).to_bytes(4, "little") + rows


def stl_text(points, faces) -> bytes:
    lines = ["solid own"]
    for corners in np.asarray(points)[faces].tolist():
        rows = [f"vertex {x!r} {y!r} {z!r}" for x, y, z in corners]
        lines += ["facet normal 0 0 0", "outer loop", *rows, "endloop", "endfacet"]
    return "\n".join([*lines, "endsolid own", ""]).encode()


def obj(points, faces, extra: str = "") -> bytes:
    lines = [f"v {x!r} {y!r} {z!r}" for x, y, z in np.asarray(points, float).tolist()]
    lines += ["f " + " ".join(str(one + 1) for one in face) for face in np.asarray(faces).tolist()]
    return (extra + "\n".join(lines) + "\n").encode()


def off(points, faces) -> bytes:
    lines = ["OFF", "# ours", f"{len(points)} {len(faces)} 0"]
    lines += [f"{x!r} {y!r} {z!r}" for x, y, z in np.asarray(points, float).tolist()]
    lines += [f"{len(face)} " + " ".join(str(one) for one in face) for face in np.asarray(faces).tolist()]
    return ("\n".join(lines) + "\n").encode()


def ply_header(
    kind: str, corners: int, faces: int, face_lines: str = "property list uchar int vertex_indices"
) -> bytes:
    return (
        f"ply\nformat {kind} 1.0\ncomment ours\nelement vertex {corners}\nproperty float x\nproperty float y\n"
        f"property float z\nelement face {faces}\n{face_lines}\nend_header\n"
    ).encode()


def ply(points, faces, order: str = "<") -> bytes:
    kind = {"<": "binary_little_endian", ">": "binary_big_endian"}[order]
    rows = b"".join(bytes([len(face)]) + np.asarray(face).astype(order + "i4").tobytes() for face in faces)
    header = ply_header(kind, len(points), len(faces))
    return header + np.asarray(points).astype(order + "f4").tobytes() + rows


def ply_text(points, faces) -> bytes:
    lines = [f"{x!r} {y!r} {z!r}" for x, y, z in np.asarray(points, float).tolist()]
    lines += [f"{len(face)} " + " ".join(str(one) for one in face) for face in np.asarray(faces).tolist()]
    return ply_header("ascii", len(points), len(faces)) + ("\n".join(lines) + "\n").encode()


def ply_strips(points, strips: Sequence[Sequence[int]]) -> bytes:
    numbers = [one for strip in strips for one in (*strip, -1)]
    header = (
        f"ply\nformat binary_little_endian 1.0\nelement vertex {len(points)}\nproperty float x\nproperty float y\n"
        "property float z\nelement tristrips 1\nproperty list int int vertex_indices\nend_header\n"
    )
    body = np.array([len(numbers), *numbers], "<i4").tobytes()
    return header.encode() + np.asarray(points).astype("<f4").tobytes() + body


def glb(points, faces, changes: Mapping[str, object] | None = None) -> bytes:
    """Return a GLB file; ``changes`` replace entries of its JSON part."""
    places, numbers = np.asarray(points).astype("<f4").tobytes(), np.asarray(faces).astype("<u4").tobytes()
    model = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "buffers": [{"byteLength": len(places) + len(numbers)}],
        "bufferViews": [
            {"buffer": 0, "byteLength": len(places)},
            {"buffer": 0, "byteOffset": len(places), "byteLength": len(numbers)},
        ],
        "accessors": [
            {"bufferView": 0, "componentType": 5126, "count": len(points), "type": "VEC3"},
            {"bufferView": 1, "componentType": 5125, "count": 3 * len(faces), "type": "SCALAR"},
        ],
        **(changes or {}),
    }
    return glb_of(json.dumps(model).encode(), places + numbers)


def glb_of(text: bytes, data: bytes) -> bytes:
    text += b" " * (-len(text) % 4)
    data += bytes(-len(data) % 4)
    chunks = struct.pack("<II", len(text), 0x4E4F534A) + text + struct.pack("<II", len(data), 0x004E4942) + data
    return b"glTF" + struct.pack("<II", 2, 12 + len(chunks)) + chunks


def mesh_xml(points, faces) -> str:
    vertices = "".join(f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>' for x, y, z in np.asarray(points, float).tolist())
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in np.asarray(faces).tolist())
    return f"<mesh><vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh>"


def object_xml(number: int, inside: str, attributes: str = 'type="model"') -> str:
    return f'<object id="{number}" {attributes}>{inside}</object>'


def components_xml(*components: str) -> str:
    return "<components>" + "".join(f"<component {one}/>" for one in components) + "</components>"


def model_xml(objects: str, items: Sequence[str] = ('objectid="1"',), attributes: str = 'unit="millimeter"',
              before: str = "") -> bytes:  # fmt: skip
    built = "".join(f"<item {one}/>" for one in items)
    head = f'<?xml version="1.0" encoding="UTF-8"?>{before}<model xmlns="{CORE}" {attributes}>'
    return f"{head}<resources>{objects}</resources><build>{built}</build></model>".encode()


def relationships(*targets: str) -> bytes:
    rows = "".join(f'<Relationship Id="r{n}" Type="{MODEL_KIND}" Target="{one}"/>' for n, one in enumerate(targets))
    return f'<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">{rows}</Relationships>'.encode()


def package(model: bytes, others: Mapping[str, bytes] | None = None) -> bytes:
    """Return a 3MF package round a model part."""
    types = (
        '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>'
    )
    parts = {
        "[Content_Types].xml": types.encode(),
        "_rels/.rels": relationships("/" + ROOT),
        ROOT: model,
        **(others or {}),
    }
    return zipped(parts)


def zipped(parts: Mapping[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def three_mf(points, faces, unit: str = "millimeter") -> bytes:
    return package(model_xml(object_xml(1, mesh_xml(points, faces)), attributes=f'unit="{unit}"'))


def step_rod(
    radius: float, height: float, unit: str = "( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) )"
) -> bytes:
    """Return a STEP file of a round rod along z: one cylinder face with a seam, two flat ends."""
    r, h = f"{radius:.6f}", f"{height:.6f}"
    rows = f"""
#1=CARTESIAN_POINT('',(0.,0.,0.));
#2=DIRECTION('',(0.,0.,1.));
#3=DIRECTION('',(1.,0.,0.));
#4=AXIS2_PLACEMENT_3D('',#1,#2,#3);
#5=CARTESIAN_POINT('',(0.,0.,{h}));
#6=AXIS2_PLACEMENT_3D('',#5,#2,#3);
#7=CARTESIAN_POINT('',({r},0.,0.));
#8=CARTESIAN_POINT('',({r},0.,{h}));
#9=VERTEX_POINT('',#7);
#10=VERTEX_POINT('',#8);
#11=CIRCLE('',#4,{r});
#12=CIRCLE('',#6,{r});
#13=VECTOR('',#2,1.);
#14=LINE('',#7,#13);
#15=EDGE_CURVE('',#9,#9,#11,.T.);
#16=EDGE_CURVE('',#10,#10,#12,.T.);
#17=EDGE_CURVE('',#9,#10,#14,.T.);
#18=ORIENTED_EDGE('',*,*,#15,.T.);
#19=ORIENTED_EDGE('',*,*,#17,.T.);
#20=ORIENTED_EDGE('',*,*,#16,.F.);
#21=ORIENTED_EDGE('',*,*,#17,.F.);
#22=EDGE_LOOP('',(#18,#19,#20,#21));
#23=FACE_BOUND('',#22,.T.);
#24=CYLINDRICAL_SURFACE('',#4,{r});
#25=ADVANCED_FACE('',(#23),#24,.T.);
#26=ORIENTED_EDGE('',*,*,#16,.T.);
#27=EDGE_LOOP('',(#26));
#28=FACE_BOUND('',#27,.T.);
#29=PLANE('',#6);
#30=ADVANCED_FACE('',(#28),#29,.T.);
#31=ORIENTED_EDGE('',*,*,#15,.F.);
#32=EDGE_LOOP('',(#31));
#33=FACE_BOUND('',#32,.T.);
#34=PLANE('',#4);
#35=ADVANCED_FACE('',(#33),#34,.F.);
#36=CLOSED_SHELL('',(#25,#30,#35));
#37=MANIFOLD_SOLID_BREP('rod',#36);
#38={unit};
#39=( NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.) );
#40=( NAMED_UNIT(*) SI_UNIT($,.STERADIAN.) SOLID_ANGLE_UNIT() );
#41=UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-07),#38,'distance_accuracy_value','');
#42=( GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#41))
GLOBAL_UNIT_ASSIGNED_CONTEXT((#38,#39,#40)) REPRESENTATION_CONTEXT('','') );
#43=ADVANCED_BREP_SHAPE_REPRESENTATION('',(#4,#37),#42);
#44=APPLICATION_CONTEXT('mechanical design');
#45=PRODUCT_CONTEXT('',#44,'mechanical');
#46=PRODUCT('rod','rod','',(#45));
#47=PRODUCT_DEFINITION_FORMATION('','',#46);
#48=PRODUCT_DEFINITION_CONTEXT('part definition',#44,'design');
#49=PRODUCT_DEFINITION('','',#47,#48);
#50=PRODUCT_DEFINITION_SHAPE('','',#49);
#51=SHAPE_DEFINITION_REPRESENTATION(#50,#43);
"""
    head = (
        "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('rod','2026-01-01T00:00:00',(''),(''),'','','');\n"
        "FILE_SCHEMA(('AUTOMOTIVE_DESIGN'));\nENDSEC;\nDATA;"
    )
    return (head + rows + "ENDSEC;\nEND-ISO-10303-21;\n").encode()


WRITERS = {
    "ring.stl": stl, "text.stl": stl_text, "ring.obj": obj, "ring.off": off, "ring.ply": ply, "text.ply": ply_text,
    "ring.glb": glb, "ring.3mf": three_mf,
}  # fmt: skip
