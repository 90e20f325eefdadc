"""Cells know their part of the tree and their section."""

import numpy as np
from tests.unit.simulate.made_up_flask import made_up_job

from pourwright.simulate.job import PieceSkin
from pourwright.simulate.regions import find_regions, section_cells


def named(regions, points):
    return [regions.names[number] for number in regions.of_cell[: len(points)]]


def test_cells_belong_to_button_sprue_or_piece():
    points_mm = np.array([[0, 0, 4.0], [8.0, 0, 7.9], [0, 0, 11.0], [2.2, 0, 11.0], [0, 0, 17.0], [0, 0, 29.0]])
    regions = find_regions(1e-3 * points_mm, made_up_job())
    assert named(regions, points_mm) == ["button", "button", "sprue", "sprue", "P1", "P1"]
    assert regions.feeder.tolist() == [True, True, False, False, False, False]


def test_a_piece_without_measured_sections_is_one():
    job = made_up_job()
    points_m = 1e-3 * np.array([[0, 0, 4.0], [0, 0, 17.0], [0, 0, 29.0]])
    (section,) = section_cells(points_m, find_regions(points_m, job), job)
    assert (section.piece, section.section, section.heavy) == ("P1", 0, True)
    assert section.cells.tolist() == [1, 2]


def test_cells_go_with_the_section_of_the_nearest_skin():
    from dataclasses import replace

    skin = PieceSkin(np.array([[3.0, 0, 17], [3.0, 0, 29]]), np.array([1, 0]), (0.9, 0.8), (True, False))
    job = replace(made_up_job(), skins={"P1": skin})
    points_m = 1e-3 * np.array([[0, 0, 4.0], [0, 0, 17.0], [0, 0, 29.0], [0, 0, 28.0]])
    first, second = section_cells(points_m, find_regions(points_m, job), job)
    assert (first.cells.tolist(), second.cells.tolist()) == ([2, 3], [1])
    assert (first.heavy, second.heavy) == (True, False)
