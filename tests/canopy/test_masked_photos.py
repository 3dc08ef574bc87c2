"""The benchmark of photos with masks, on a folder made up here: drawn leaves of known share on drawn sand."""

from __future__ import annotations

import csv

import masked_photos
import numpy as np
import pytest
from PIL import Image


@pytest.fixture
def folder(tmp_path):
    rng = np.random.default_rng(5)
    rows = []
    for n, share in enumerate((0.0, 0.2, 0.5, 0.8)):
        tiles = rng.random((20, 20)) < share
        leaf = np.kron(tiles, np.ones((16, 16))) > 0
        colors = np.where(leaf[..., None], (86, 122, 52), (178, 158, 128)) + rng.normal(
            0, 6, (*leaf.shape, 3)
        )
        Image.fromarray(colors.clip(0, 255).astype(np.uint8)).save(tmp_path / f"{n}.png")
        Image.fromarray((255 * leaf).astype(np.uint8)).save(tmp_path / f"{n}-mask.png")
        rows.append({"image": f"{n}.png", "mask": f"{n}-mask.png", "part": "judging", "source": "drawn"})
    rows.append({"image": "gone.png", "mask": "gone-mask.png", "part": "judging", "source": "drawn"})
    with (tmp_path / "manifest.csv").open("w", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)
    return tmp_path


def test_any_folder_of_photos_with_masks_is_scored(folder, capsys):
    masked_photos.score_folder(folder)
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("1 of 5 photos")
    figures = {(row[1], row[2]): row for row in (line.split() for line in lines[2:])}
    for path in ("single", "series"):
        whole = figures[path, "all"]
        assert int(whole[3]) == 4
        assert float(whole[4]) < 3.0, "MAE"
        assert float(whole[7]) >= 75, "inside the interval"


def test_the_truth_is_the_share_of_white(folder, capsys):
    shares = [photo.true_pct for photo in masked_photos.listed(folder)]
    capsys.readouterr()
    assert shares[0] == 0
    assert np.diff(shares).min() > 15


@pytest.mark.parametrize(
    "kind", ["white", "bool", "numbered", "palette", "color", "16 bit", "jpeg", "turned"]
)
def test_masks_of_every_kind_say_the_same(tmp_path, kind):
    plant = np.kron(np.random.default_rng(3).random((12, 16)) < 0.3, np.ones((10, 10))) > 0
    white = (255 * plant).astype(np.uint8)
    ending = "jpg" if kind == "jpeg" else "png"
    made = {"white": white, "bool": plant, "numbered": plant.astype(np.uint8), "jpeg": white, "turned": white.T,
            "16 bit": (65535 * plant).astype(np.uint16)}  # fmt: skip
    if kind == "palette":
        mask = Image.fromarray(plant.astype(np.uint8), mode="P")
        mask.putpalette([0, 0, 0, 200, 30, 30])
    elif kind == "color":
        mask = Image.fromarray(plant[..., None] * np.array([0, 128, 0], np.uint8))
    else:
        mask = Image.fromarray(made[kind])
    (tmp_path / "masks").mkdir()
    mask.save(tmp_path / "masks" / f"1.{ending}")
    (tmp_path / "images").mkdir()
    Image.new("RGB", (160, 120)).save(tmp_path / "images" / "1.JPG")
    (photo,) = masked_photos.listed(tmp_path)
    assert photo.true_pct == pytest.approx(100 * plant.mean(), abs=0.3)


def test_a_folder_without_photos_says_what_it_should_hold(tmp_path):
    with pytest.raises(SystemExit, match="no photo with a mask"):
        masked_photos.listed(tmp_path)
