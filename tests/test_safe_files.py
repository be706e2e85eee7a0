"""What writing over a file leaves of it: its links, its mode, and the file itself where it is read-only."""

from __future__ import annotations

import os
from pathlib import Path
from stat import S_IMODE

import pytest

from billet.base.errors import InputError
from billet.base.safe_files import write_whole

NEW = "title = 'new'"
pytestmark = pytest.mark.skipif(os.name == "nt", reason="modes and links are others there")


@pytest.fixture
def knife(tmp_path: Path) -> Path:
    (tmp_path / "kept").mkdir()
    path = tmp_path / "kept" / "knife.toml"
    path.write_text("title = 'old'")
    return path


def test_a_link_stays_and_the_file_it_leads_to_is_written(knife: Path, tmp_path: Path) -> None:
    link, further = tmp_path / "link.toml", tmp_path / "further.toml"
    link.symlink_to("kept/knife.toml")
    further.symlink_to("link.toml")
    write_whole(further, NEW, force=True)
    assert os.readlink(further) == "link.toml" and os.readlink(link) == "kept/knife.toml"
    assert knife.read_text() == NEW and not knife.is_symlink()


def test_through_a_link_too_a_file_is_written_whole_or_not_at_all(
    knife: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The new file is made in the folder it is to stand in: between two disks nothing can be moved in one go (rename(2): EXDEV)."""
    link = tmp_path / "link.toml"
    link.symlink_to(knife)
    moved: list[tuple[Path, Path]] = []

    def power_cut(fresh: str, place: Path) -> None:
        moved.append((Path(fresh).parent, place))
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "replace", power_cut)
    with pytest.raises(InputError, match="nothing was changed"):
        write_whole(link, NEW, force=True)
    assert moved == [(knife.parent.resolve(), knife.resolve())]
    assert knife.read_text() == "title = 'old'" and os.listdir(knife.parent) == ["knife.toml"]


def test_a_link_to_a_file_that_is_not_there_yet_makes_it(knife: Path, tmp_path: Path) -> None:
    link = tmp_path / "link.toml"
    link.symlink_to("kept/second.toml")
    write_whole(link, NEW)
    assert link.is_symlink() and (knife.parent / "second.toml").read_text() == NEW


def test_a_link_that_leads_to_itself_is_refused_in_words(tmp_path: Path) -> None:
    link = tmp_path / "link.toml"
    link.symlink_to("link.toml")
    with pytest.raises(InputError, match="leads back to itself; delete it"):
        write_whole(link, NEW, force=True)
    assert os.readlink(link) == "link.toml"


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664, 0o755], ids=oct)
def test_a_file_keeps_its_mode(knife: Path, mode: int) -> None:
    knife.chmod(mode)
    write_whole(knife, NEW, force=True)
    assert knife.read_text() == NEW and S_IMODE(knife.stat().st_mode) == mode


def test_a_new_file_has_the_mode_the_shell_would_give_it(knife: Path) -> None:
    before = os.umask(0o027)
    try:
        made = write_whole(knife.with_name("new.toml"), NEW)
    finally:
        os.umask(before)
    assert S_IMODE(made.stat().st_mode) == 0o640


@pytest.mark.parametrize("name", ["knife.toml", "link.toml"])
def test_a_read_only_file_is_left_as_it_is(knife: Path, name: str) -> None:
    """Forced or not, and for a superuser too, whom the mode does not hold back."""
    (knife.parent / "link.toml").symlink_to("knife.toml")
    knife.chmod(0o444)
    with pytest.raises(InputError, match=r"is read-only.*allow writing to it first"):
        write_whole(knife.parent / name, NEW, force=True)
    assert knife.read_text() == "title = 'old'" and S_IMODE(knife.stat().st_mode) == 0o444
