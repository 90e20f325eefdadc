"""Freezing fields on disk: an open chunked store (zarr) that a run is read back from, and a file for viewers.

Every array says its unit; grid planes stand beside the fields as coordinates. The viewer's file is the XML form of a
rectilinear grid in the open format that visualisation programs read (VTK, version 1.0), written here because it takes a
page and the libraries that write it bring a renderer along.
"""

from __future__ import annotations

import base64
import shutil
from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any
from xml.sax.saxutils import quoteattr

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import DataError
from pourwright.core.files import write_whole
from pourwright.core.units import SUFFIXES, suffix_of
from pourwright.physics.freeze.results import Effort, FreezeResult, FreezeState, HeatBook, Histories

Floats = NDArray[np.float64]
Edges = tuple[Floats, Floats, Floats]


@dataclass(frozen=True, eq=False)
class Lattice:
    """Where a run's cells are and which of them hang together.

    Parameters
    ----------
    edges_m : three arrays
        Planes of the grid [m].
    links : array of int32, shape (p, 2)
        Pairs of metal cells, by their numbers in the run's list, that share a face with metal on both sides.
    """

    edges_m: Edges
    links: NDArray[np.int32]


FIELDS_FORMAT = 1
_EDGES = ("edges_x_m", "edges_y_m", "edges_z_m")
_CELL_FIELDS = (
    "cell", "centre_m", "metal_m3", "liquidus_s", "critical_s", "freeze_s", "gradient_K_m", "rate_K_s",
    "solid_at_last_frac", "temp_K",
)  # fmt: skip
# What a viewer is shown of each metal cell.
_SHOWN = ("liquidus_s", "critical_s", "freeze_s", "local_s", "gradient_K_m", "rate_K_s", "niyama_sqrtKs_m", "metal_m3")


def write_fields(path: Path, result: FreezeResult, lattice: Lattice, about: Mapping[str, Any]) -> None:
    """Write a run to a store, whole or not at all.

    Parameters
    ----------
    path : Path
        A folder, by custom ending in ``.zarr``; replaced if it exists.
    result : FreezeResult
        The run.
    lattice : Lattice
        Its grid.
    about : mapping
        What the run was made from, as plain JSON values.
    """
    arrays: dict[str, NDArray[Any]] = dict(zip(_EDGES, lattice.edges_m, strict=True)) | {"links": lattice.links}
    arrays |= {name: getattr(result, name) for name in _CELL_FIELDS}
    arrays |= {f"histories/{one.name}": getattr(result.histories, one.name) for one in fields(Histories)}
    attributes = {
        "format": FIELDS_FORMAT,
        "about": dict(about),
        "last_solid_s": _plain(result.last_solid_s),
        "finished": result.finished,
        "heat": _book(result.heat),
        "cooling_heat": _book(result.cooling_heat) if result.cooling_heat else None,
        "effort": {one.name: _plain(getattr(result.effort, one.name)) for one in fields(Effort)},
    }
    _write_store(path, arrays, attributes)


def read_fields(path: Path) -> tuple[FreezeResult, Lattice, dict[str, Any]]:
    """Read a run back.

    Parameters
    ----------
    path : Path
        A store of :func:`write_fields`.

    Returns
    -------
    result : FreezeResult
        The run.
    lattice : Lattice
        Its grid.
    about : dict
        What it was made from.

    Raises
    ------
    DataError
        It is no such store, is damaged, or was written by a newer program.
    """
    arrays, attributes = _read_store(path)
    try:
        result = FreezeResult(
            **{name: arrays[name] for name in _CELL_FIELDS},
            last_solid_s=_number(attributes["last_solid_s"]),
            histories=Histories(**{one.name: arrays[f"histories/{one.name}"] for one in fields(Histories)}),
            heat=HeatBook(**attributes["heat"]),
            cooling_heat=HeatBook(**attributes["cooling_heat"]) if attributes["cooling_heat"] else None,
            effort=Effort(**attributes["effort"]),
            finished=attributes["finished"],
        )
        edges = tuple(arrays[name] for name in _EDGES)
        return result, Lattice((edges[0], edges[1], edges[2]), arrays["links"]), attributes["about"]
    except (KeyError, TypeError) as lacking:
        raise DataError(f"{path} lacks {lacking}") from lacking


def write_state(path: Path, state: FreezeState) -> None:
    """Write a run cut off between two steps, so that it can go on; the older one stays until the new one is whole."""
    _write_store(path, state.arrays, {"format": FIELDS_FORMAT, "fingerprint": state.fingerprint})


def read_state(path: Path) -> FreezeState | None:
    """Return a run cut off between two steps, or None where there is none that can be read."""
    try:
        arrays, attributes = _read_store(path)
        return FreezeState(arrays, str(attributes["fingerprint"]))
    except (DataError, KeyError):
        return None


def _write_store(path: Path, arrays: Mapping[str, NDArray[Any]], attributes: Mapping[str, Any]) -> None:
    import zarr

    path.parent.mkdir(parents=True, exist_ok=True)
    fresh, old = path.with_name(f".{path.name}.new"), path.with_name(f".{path.name}.old")
    for one in (fresh, old):
        shutil.rmtree(one, ignore_errors=True)
    group = zarr.open_group(fresh, mode="w")
    group.attrs.update(attributes)
    for name, values in arrays.items():
        whole = np.asarray(values)
        stored = group.create_array(name, shape=whole.shape, dtype=whole.dtype, chunks=_chunks(whole.shape))
        stored[...] = whole
        unit = SUFFIXES.get(suffix_of(name) or "", "")
        stored.attrs.update({"unit": unit} if unit else {})
    if path.exists():
        path.rename(old)
    fresh.rename(path)
    shutil.rmtree(old, ignore_errors=True)


def _chunks(shape: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(max(side, 1) for side in shape)


def _read_store(path: Path) -> tuple[dict[str, NDArray[Any]], dict[str, Any]]:
    import zarr

    if not path.exists():
        raise DataError(f"there is no {path}")
    try:
        group = zarr.open_group(path, mode="r")
        attributes = dict(group.attrs)
        found = group.members(max_depth=None)
        arrays = {name: np.asarray(one[...]) for name, one in found if isinstance(one, zarr.Array)}
    except Exception as damaged:  # zarr raises many kinds for a damaged store; all mean the same here
        raise DataError(f"{path} cannot be read as a store of fields: {damaged}") from damaged
    if attributes.get("format") != FIELDS_FORMAT:
        raise DataError(f"{path} has format {attributes.get('format')}, known is {FIELDS_FORMAT}")
    return arrays, attributes


def _book(book: HeatBook) -> dict[str, float]:
    return {one.name: float(getattr(book, one.name)) for one in fields(HeatBook)}


def _plain(value: float | int) -> float | int | None:
    if isinstance(value, float | np.floating):
        return float(value) if np.isfinite(value) else None
    return int(value)


def _number(value: float | None) -> float:
    return float("nan") if value is None else float(value)


def on_grid(result: FreezeResult, edges_m: Edges, field: str) -> NDArray[np.float32]:
    """Return a field of a run, by its name, as a whole grid (nx, ny, nz); not a number where there is no metal."""
    shape = tuple(len(one) - 1 for one in edges_m)
    whole = np.full(shape, np.nan, dtype=np.float32)
    whole[tuple(result.cell.T)] = getattr(result, field)
    return whole


def write_for_viewers(path: Path, result: FreezeResult, edges_m: Edges) -> None:
    """Write the fields of the metal as a rectilinear grid (``.vtr``) that visualisation programs open.

    Parameters
    ----------
    path : Path
        Replaced if it exists.
    result : FreezeResult
        The run.
    edges_m : three arrays
        Planes of its grid [m].

    Notes
    -----
    Cell data in single precision; cells without metal hold not-a-number. Coordinates in metres.
    """
    sides = [len(one) - 1 for one in edges_m]
    extent = " ".join(f"0 {side}" for side in sides)
    cells = [_data_array(name, on_grid(result, edges_m, name)) for name in _SHOWN]
    planes = [_data_array(name, one) for name, one in zip(_EDGES, edges_m, strict=True)]
    lines = [
        '<?xml version="1.0"?>',
        '<VTKFile type="RectilinearGrid" version="1.0" byte_order="LittleEndian" header_type="UInt64">',
        f'<RectilinearGrid WholeExtent="{extent}">',
        f'<Piece Extent="{extent}">',
        f"<CellData Scalars={quoteattr('freeze_s')}>",
        *cells,
        "</CellData>",
        "<Coordinates>",
        *planes,
        "</Coordinates>",
        "</Piece>",
        "</RectilinearGrid>",
        "</VTKFile>",
        "",
    ]
    write_whole(path, "\n".join(lines).encode("ascii"))


def _data_array(name: str, values: NDArray[Any]) -> str:
    """Return an array with its length in bytes before it, in base64; x runs fastest."""
    single = np.asarray(values, dtype="<f4").ravel(order="F").tobytes()
    content = base64.b64encode(len(single).to_bytes(8, "little") + single).decode("ascii")
    return f'<DataArray type="Float32" Name={quoteattr(name)} format="binary">{content}</DataArray>'
