"""Files are written whole."""

import pytest

from pourwright.core.files import write_whole


def test_a_file_is_written_with_its_folders(tmp_path):
    write_whole(tmp_path / "a" / "b.txt", b"hello")
    assert (tmp_path / "a" / "b.txt").read_bytes() == b"hello"


def test_a_failed_write_leaves_the_old_file_and_no_litter(tmp_path):
    path = tmp_path / "b.txt"
    write_whole(path, b"old")
    with pytest.raises(TypeError):
        write_whole(path, "not bytes")
    assert path.read_bytes() == b"old"
    assert [one.name for one in tmp_path.iterdir()] == ["b.txt"]
