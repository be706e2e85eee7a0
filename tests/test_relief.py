"""Reliefs made flat: where the layers lie afterwards, against the kinematics worked out by hand.

Wash-out, the thirds rule and the inversion of cut against pressed are derived from columns that keep their metal (each
derivation stands by its test); the radial dimple is a closed form of the same equation.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from skimage.measure import find_contours, regionprops
from skimage.measure import label as labelled

from billet.bar.bar import Worked
from billet.bar.trace import layers_crossed, steel_at, trace
from billet.base.interpolation import Sheet
from billet.base.messages import RefusedError
from billet.forming.planar_flow import middles, spread, turned_round
from billet.forming.relief_flattening import FlatSheet
from billet.forming.relief_shapes import Dimples, Grooves
from billet.ledger.run import run
from billet.recipe.read import load
from billet.steps.relief import grey_rows
from tests.examples import bench, marked, picture, step

DEMOS = Path(__file__).parents[1] / "demo_billets"
PITCH, DEPTH = 12e-3, 2e-3


def laddered(faces: str, made: str = "cut", **more: str):
    """A bar of ten pitches with grooves 6 mm wide."""
    extra = "".join(f'\n{k} = "{v}"' for k, v in more.items())
    text = f'do = "ladder"\nmade = "{made}"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "2 mm"\nfaces = "{faces}"{extra}'
    bar = marked(10 * PITCH)
    return bar, step(text).apply(bar, bench())


def heights(bar, x, fraction: float) -> np.ndarray:
    """Height in the laminate of points at places along the bar, a fraction of the thickness below the top [m]."""
    return trace(bar.material, np.asarray(x), np.zeros(1), np.full(1, (0.5 - fraction) * bar.thickness)).z


@pytest.mark.parametrize("fraction", [0.02, 0.25, 0.5, 0.75, 0.98])
@pytest.mark.parametrize(
    ("faces", "share_left"),
    [
        # column at s shows original depth g_top + s (T - g_top - g_bottom); swing = greatest less least over a pitch
        ("staggered", lambda s: 1.0),
        ("top", lambda s: 1 - s),
        ("opposed", lambda s: abs(1 - 2 * s)),
    ],
)
def test_a_ladder_washes_out_toward_the_middle_as_its_faces_are_cut(faces: str, share_left, fraction: float) -> None:
    _, outcome = laddered(faces)
    z = heights(outcome.bar, np.linspace(-PITCH, PITCH, 8001), fraction)
    assert np.ptp(z) == pytest.approx(DEPTH * share_left(fraction), abs=1e-3 * DEPTH)


def test_opposed_grooves_show_nothing_at_the_middle() -> None:
    _, outcome = laddered("opposed")
    assert np.ptp(heights(outcome.bar, np.linspace(-0.05, 0.05, 999), 0.5)) < 1e-15


def test_the_thirds_rule_closes() -> None:
    """Start three times the finished thickness, a third deep from each side: what is left is the finished thickness
    (bladesmiths' rule).
    """
    bar = marked(10 * PITCH, thickness=9e-3)
    text = 'do = "ladder"\npitch = "12 mm"\ngroove = "12 mm"\ndepth = "3 mm"\nfaces = "opposed"\nflat = "{}"'
    exactly = step(text.format("3 mm")).apply(bar, bench())
    assert exactly.notes == ()
    assert step(text.format("3 mm").rsplit("\n", 1)[0]).apply(bar, bench()).bar.thickness == pytest.approx(
        3e-3, rel=1e-12
    )
    (remains,) = step(text.format("3.1 mm")).apply(bar, bench()).notes
    assert "hollows remain" in remains.say()


@pytest.mark.parametrize("made", ["cut", "pressed"])
def test_cut_and_pressed_ladders_are_inverted(made: str) -> None:
    """Cut: the groove shows the deepest layer. Pressed and ground: the groove keeps the skin, the hump between shows
    the deepest.
    """
    bar, outcome = laddered("staggered", made)
    new = outcome.bar
    groove_before = np.array([0.25 * PITCH])
    groove = new.material.map.push(groove_before, np.zeros(1), np.zeros(1))[0] if made == "cut" else groove_before
    stretch = new.length / bar.length
    below_skin = 0.5 * bar.thickness - heights(new, np.r_[groove, groove + 0.5 * PITCH * stretch], 1e-9)
    # cut: the floor of the groove was d under the skin. Pressed and ground just clean: the groove keeps its skin and d
    # is ground off
    # the hump, whose column was squeezed from T to T + 2 mean - d over the groove below; the mean depth is d/2 times
    # groove over pitch
    squeezed = (9e-3 + 2 * 0.5 * DEPTH * 6 / 12 - DEPTH) / 9e-3
    assert below_skin == pytest.approx([DEPTH, 0.0] if made == "cut" else [0.0, DEPTH / squeezed], abs=1e-4 * DEPTH)


def test_rungs_stand_as_far_apart_as_the_ledger_says_the_bar_grew() -> None:
    bar, outcome = laddered("staggered", flat="5 mm")
    new = outcome.bar
    x = np.linspace(-0.3, 0.3, 60_001) * new.length
    z = heights(new, x, 0.02)
    deepest = x[1:-1][(z[1:-1] < z[:-2]) & (z[1:-1] <= z[2:])]
    np.testing.assert_allclose(np.diff(deepest), PITCH * new.length / bar.length, rtol=2e-4)


def test_metal_cut_away_is_counted_layer_by_layer() -> None:
    """Raised-cosine grooves take half their width times their depth (the mean of cos^2 is a half), here all from one
    top layer.
    """
    bar = marked(10 * PITCH, thickness=15e-3)
    text = 'do = "ladder"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "0.9 mm"\nfaces = "top"'
    outcome = step(text).apply(bar, bench())
    taken = 10 * 0.5 * 6e-3 * 0.9e-3 * bar.width
    assert outcome.lost.grinding == pytest.approx(taken * bar.laminate.density[-1], rel=1e-3)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('do = "ladder"\npitch = "5 mm"\ngroove = "4 mm"\ndepth = "3 mm"', "twice their depth"),
        ('do = "ladder"\npitch = "12 mm"\ngroove = "14 mm"\ndepth = "2 mm"', "run into one another"),
        ('do = "ladder"\npitch = "12 mm"\ngroove = "2 mm"\ndepth = "3 mm"', "deeper than they are wide"),
        ('do = "ladder"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "3 mm"\nthickness_after = "7 mm"', "hollows remain"),
        (
            'do = "ladder"\nmethod = "pressed"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "3 mm"\nthickness_after = "8 mm"',
            "hollows remain",
        ),
        ('do = "raindrop"\nacross = "6 mm"\ndepth = "3 mm"\nspacing = "5 mm"', "run into one another"),
    ],
)
def test_what_will_go_wrong_is_said(text: str, words: str) -> None:
    assert any(words in n.say() for n in step(text).apply(marked(), bench()).notes)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('do = "ladder"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "5 mm"\nfaces = "opposed"', "cut it in two"),
        (
            'do = "ladder"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "2 mm"\nthickness_after = "9 mm"',
            "more than the bar has",
        ),
        ('do = "relief"\nimage = "nowhere.png"\ndepth = "1 mm"', "no such file"),
        (f'do = "relief"\nimage = "{__file__}"\ndepth = "1 mm"', "not a picture"),
    ],
)
def test_what_cannot_be_done_is_refused(text: str, words: str) -> None:
    with pytest.raises(RefusedError, match=words):
        step(text).apply(marked(), bench())


# --- raindrop


def dropped(**more: str):
    extra = "".join(f'\n{k} = "{v}"' for k, v in more.items())
    bar = marked(0.12, 0.05, thickness=9e-3)
    text = f'do = "raindrop"\nacross = "8 mm"\ndepth = "3 mm"\nspacing = "13 mm"{extra}'
    return bar, step(text).apply(bar, bench()).bar


def near_the_middle(face: int, layout: Dimples, length: float, width: float):
    """The dimple nearest the bar's middle."""
    return min(layout.of_face(face, length, width), key=lambda m: np.hypot(m.x, m.y))


LAYOUT = Dimples(8e-3, 3e-3, 13e-3, "staggered", 1)


def test_a_drop_has_a_ring_for_every_layer_the_dimple_cut() -> None:
    bar, new = dropped()
    drop = near_the_middle(0, LAYOUT, bar.length, bar.width)
    centre = new.material.map.push(np.array([drop.x]), np.array([drop.y]), np.zeros(1))
    skin = 0.5 * new.thickness * (1 - 1e-9)
    out = np.array([0.0, 0.6 * 13e-3, 0.0])
    start = np.array([centre[0][0], centre[1][0], skin])
    crossed = layers_crossed(new, start, start + out, 20_001) - 1
    assert crossed == int(drop.depth / (bar.thickness / 15))  # depth over layer thickness
    under = 0.5 * bar.thickness - trace(new.material, *start[:, None]).z[0]
    assert under == pytest.approx(drop.depth, rel=5e-3)  # the deepest layer at the centre


def test_drawing_makes_ovals_of_the_draw_ratio() -> None:
    _, new = dropped(faces="top")
    drawn = (
        step('do = "draw"\ntemperature = "1100 C"\nsoak = "1 s"\nthickness = "4 mm"\nwidth = "50 mm"')
        .apply(new, bench())
        .bar
    )
    aspects = [ring_aspect(b) for b in (new, drawn)]
    ratio = (drawn.length / new.length) / (drawn.width / new.width)
    assert aspects[1] / aspects[0] == pytest.approx(ratio, rel=0.03)


def ring_aspect(bar) -> float:
    """Length over width of the outline of the drop nearest the middle, half way down it, on the top face."""
    x = np.linspace(-0.15, 0.15, 900) * bar.length
    y = np.linspace(-0.3, 0.3, 900) * bar.width
    z = trace(bar.material, x[None, :], y[:, None], np.full((1, 1), 0.45 * bar.thickness)).z
    deep = labelled(z < 0.5 * (z.max() + z.min()))
    found = [r for r in regionprops(deep) if r.bbox[0] > 0 and r.bbox[1] > 0 and r.bbox[2] < 900 and r.bbox[3] < 900]
    nearest = min(found, key=lambda r: np.hypot(*(np.array(r.centroid) - 450)))
    rows, columns = (np.ptp(nearest.coords[:, k]) for k in (0, 1))
    return columns * (x[1] - x[0]) / (rows * (y[1] - y[0]))


def test_drops_of_the_two_faces_lie_over_one_anothers_gaps() -> None:
    top, bottom = ([(m.x, m.y) for m in LAYOUT.of_face(face, 0.12, 0.05)] for face in (0, 1))
    apart = np.linalg.norm(np.array(top)[:, None] - np.array(bottom)[None], axis=-1).min(1)
    assert (
        apart.min() > 0.25 * LAYOUT.spacing
    )  # a gap of the layout lies spacing/sqrt(3) from three drops, less the jitter of both


def test_dimples_are_unequal_and_out_of_true() -> None:
    marks = np.array(list(LAYOUT.of_face(0, 0.12, 0.05)))
    assert (np.std(marks[:, 2:], axis=0) / np.mean(marks[:, 2:], axis=0) > 0.04).all()


def test_closed_rings_on_the_face() -> None:
    bar, new = dropped(faces="top")
    x, y = np.linspace(-0.3, 0.3, 700) * new.length, np.linspace(-0.45, 0.45, 300) * new.width
    z = trace(new.material, x[None, :], y[:, None], np.full((1, 1), 0.5 * new.thickness)).z
    contours = find_contours(z, 0.5 * bar.thickness - 1.2e-3)
    closed = [c for c in contours if np.allclose(c[0], c[-1])]
    assert len(closed) >= 10 and len(closed) >= 0.6 * len(contours)


# --- the flow


def test_the_flow_round_one_dimple_is_the_radial_closed_form() -> None:
    """h/mean = 1 - A f(s), f = (1-s)^2 (1-4s), s = r^2/R^2: metal inside r stays inside, so s' = s - A s (1-s)^3 (hand
    derivation).
    """
    size, radius, amount, n = 0.04, 0.012, 0.4, 400
    x = middles(size, n)
    s = np.minimum((x[:, None] ** 2 + x[None, :] ** 2) / radius**2, 1.0)
    flow = spread(1 - amount * (1 - s) ** 2 * (1 - 4 * s), size, size)
    row = n // 2
    at = np.hypot(x, x[row])
    s0 = np.minimum((at / radius) ** 2, 1.0)
    moved = np.hypot(x + flow.u[:, row], x[row] + flow.v[:, row])
    np.testing.assert_allclose(moved, at * np.sqrt(1 - amount * (1 - s0) ** 3), atol=2e-3 * radius * amount)


def test_the_flow_over_grooves_is_the_exact_one() -> None:
    """Where the height depends on x alone, x' is the integral of h over its mean."""
    length, n = 0.06, 480
    grooves = Grooves(12e-3, 8e-3, 2e-3, "staggered")
    x = middles(length, n)
    high = 8e-3 - sum(grooves.depths(x))
    flow = spread(np.repeat(high[:, None], 40, 1), length, 0.01)
    gathered = sum(grooves.gathered(x))
    mean = 8e-3 - sum(grooves.means(length))
    np.testing.assert_allclose(x + flow.u[:, 7], (8e-3 * x - gathered) / mean, atol=1e-7)
    assert np.abs(flow.v).max() < 1e-12


def test_the_flow_turned_round_leads_back() -> None:
    x, y = middles(0.05, 200), middles(0.03, 120)
    flow = spread(1 + 0.4 * np.cos(2 * np.pi * x / 0.025)[:, None] * np.cos(2 * np.pi * y / 0.015)[None, :], 0.05, 0.03)
    back = turned_round(flow, 0.05, 0.03)
    there = Sheet(0.05, 0.03, np.stack([flow.u, flow.v]), ((True, False), (False, True)))
    u, v = there(x[:, None] + back.u, y[None, :] + back.v)
    np.testing.assert_allclose(back.u + u, 0, atol=1e-9)
    np.testing.assert_allclose(back.v + v, 0, atol=1e-9)


def test_a_sheet_on_a_grid_is_the_sheet_point_by_point() -> None:
    rng = np.random.default_rng(2)
    sheet = Sheet(2.0, 1.0, rng.standard_normal((2, 31, 17)), ((True, False), (False, False)))
    x, y = np.linspace(-1, 1, 23)[None, :, None], np.linspace(-0.5, 0.5, 11)[:, None, None]
    for a, b in zip(sheet(x, y), sheet(*(np.array(np.broadcast_arrays(x, y)))), strict=True):
        assert a.shape == (11, 23, 1)
        np.testing.assert_allclose(a, b, atol=1e-12)
    np.testing.assert_allclose(
        sheet(middles(2.0, 31)[:, None], middles(1.0, 17)[None, :])[1], sheet.fields[1], atol=1e-9
    )


def test_a_picture_comes_out_the_right_way_round() -> None:
    """The example picture is dark in its upper left: +y is up, +x right, seen from above the top face."""
    bar = marked(0.06, 0.04)
    text = f'do = "relief"\nimage = "{picture()}"\nlength = "60 mm"\nwidth = "40 mm"\ndepth = "2 mm"\nfaces = "top"'
    new = step(text).apply(bar, bench()).bar
    shares = np.array(
        [(30 / 96, 20 / 64), (80 / 96, 40 / 64), (60 / 96, 50 / 64), (30 / 96, 57 / 64)]
    )  # right, down, from the upper left
    x, y = (shares[:, 0] - 0.5) * new.length, (0.5 - shares[:, 1]) * new.width
    under = 0.5 * bar.thickness - trace(new.material, x, y, np.full(4, 0.5 * new.thickness)).z
    assert under[0] > 1.5e-3
    assert under[1:].max() < 0.3e-3


def carved(picture: Image.Image, path: Path):
    """The outcome of a relief of the picture, 2 mm deep from the top."""
    picture.save(path)
    text = f'do = "relief"\nimage = "{path}"\nlength = "60 mm"\nwidth = "40 mm"\ndepth = "2 mm"\nfaces = "top"'
    return step(text).apply(marked(0.06, 0.04), bench())


def as_deep(grey: Image.Image) -> Image.Image:
    """The same greys in 16 bits: 65535 is 257 times 255."""
    return Image.fromarray(np.asarray(grey).astype(np.uint16) * 257)


@pytest.mark.parametrize(
    "kind",
    [as_deep, lambda g: g.convert("P"), lambda g: g.convert("CMYK"), lambda g: g.convert("LA"), lambda g: g],
    ids=["deep", "palette", "cmyk", "alpha", "grey"],
)
def test_a_picture_of_any_kind_cuts_the_same_relief(tmp_path: Path, kind) -> None:
    grey = Image.open(picture()).convert("L")
    kind(grey).save(tmp_path / "kind.tif")
    off = np.subtract(*(np.array([list(r) for r in grey_rows(p)]) for p in (tmp_path / "kind.tif", picture())))
    assert np.abs(off).max() <= 1  # colour models may round


def test_a_relief_lies_as_the_camera_was_held(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = 3  # Exif 2.3: upside down
    Image.open(picture()).convert("L").rotate(180).save(tmp_path / "askew.png", exif=exif)
    assert grey_rows(tmp_path / "askew.png") == grey_rows(picture())


def test_a_sixteen_bit_picture_is_not_flat(tmp_path: Path) -> None:
    """Dark to the left, from 0 to 65535: the top layer is cut through there and whole to the right."""
    ramp = np.linspace(0, 65535, 96).astype(np.uint16)[None].repeat(64, axis=0)
    new = carved(Image.fromarray(ramp), tmp_path / "ramp.png").bar
    z = trace(new.material, np.array([-0.4, 0.4]) * new.length, np.zeros(2), np.full(2, 0.5 * new.thickness)).z
    assert z[1] - z[0] > 1e-3


def test_a_picture_that_would_cut_nothing_is_refused_and_a_faint_one_doubted(tmp_path: Path) -> None:
    with pytest.raises(RefusedError, match="one even grey"):
        carved(Image.new("L", (60, 40), 90), tmp_path / "even.png")
    faint = Image.fromarray(np.uint16(np.linspace(60000, 65535, 2400).reshape(40, 60)))
    assert "darkest grey" in " ".join(n.say() for n in carved(faint, tmp_path / "faint.png").notes)


def test_a_relief_from_a_pipe_is_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.png")
    with pytest.raises(RefusedError, match=r"image: .*pipe"):
        grey_rows(tmp_path / "pipe.png")


def test_the_marked_plate_shows_only_where_the_groove_went_through_it() -> None:
    bar = marked(10 * PITCH)
    new = step('do = "ladder"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "2.2 mm"').apply(bar, bench()).bar
    x = np.linspace(-0.4, 0.4, 4001) * new.length
    faces = [
        steel_at(new, np.stack([x, 0 * x, np.full_like(x, s * 0.5 * new.thickness)])) for s in (-0.999999, 0.999999)
    ]
    # the twelfth of fifteen plates from below lies 1.8 to 2.4 mm under the top: only the top grooves reach it
    assert "52100" in faces[1] and "52100" not in faces[0]


@pytest.mark.parametrize("demo", ["forged", "ladder_pressed", "raindrop", "relief"])
def test_many_single_points_of_a_sheet_in_single_precision_are_a_micrometre_from_few_in_double(demo: str) -> None:
    material = run(load(DEMOS / f"{demo}.toml"), diffuse=False).last.material
    sheets = 0
    while isinstance(material, Worked):
        if isinstance(material.map, FlatSheet):
            by, sheets = material.map, sheets + 1
            points = np.random.default_rng(4).uniform(-0.5, 0.5, (3, 60_000)) * [[by.length], [by.width], [by.flat]]
            many = by.pull(*points.astype(np.float32))
            for k in range(0, 60_000, 6_000):
                some = slice(k, k + 6_000)
                few = by.pull(*points[:, some])
                for one, other in zip(many[:3], few[:3], strict=True):
                    assert np.abs(one[some] - other).max() < 1e-6
        material = material.parent
    assert sheets
