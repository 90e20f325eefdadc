"""The engine's own refusals: metal without an inside, metal out of the flask, walls thinner than its cells."""

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.simulate.made_up_flask import made_up_job

from pourwright.core.errors import SolverError
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.pattern.solids import box, moved, rotated, without_faces
from pourwright.simulate import engine

JOB = made_up_job(bar_mm=1.5)


def with_metal(mesh):
    return replace(JOB, solid=replace(JOB.solid, mesh=mesh))


def test_metal_that_is_not_closed_is_refused_with_a_sentence():
    open_job = with_metal(without_faces(JOB.solid.mesh, range(400)))
    with pytest.raises(SolverError, match="is not one closed body, so nobody can say where it ends"):
        engine.thin_frac(open_job, 1.0)


def test_metal_out_of_the_flask_is_refused_with_a_sentence():
    with pytest.raises(SolverError, match="reaches out of the flask"):
        engine.cells_count(with_metal(moved(JOB.solid.mesh, (0.0, 0.0, 30.0))), 1.0)


def test_a_sound_tree_has_no_wall_thinner_than_a_cell():
    assert engine.thin_frac(JOB, 1.0) == 0.0


def test_a_tilted_sheet_thinner_than_a_cell_is_seen():
    sheet = moved(rotated(box(10.0, 10.0, 0.4), (1, 1, 0), 25.0), (0.0, 0.0, 30.0))
    assert engine.thin_frac(with_metal(Mesh(np.asarray(sheet.vertices_mm), sheet.faces)), 1.0) > 0.3
    assert engine.thin_frac(with_metal(Mesh(np.asarray(sheet.vertices_mm), sheet.faces)), 0.2) < 0.01
