"""Every source of scatter: its default, a distribution that is stated, and a CSV of measurements."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import sample_block as block
from scipy import stats

import samples
from jawright.conductor import plan
from jawright.errors import JawrightError
from jawright.handbook import material
from jawright.job.gaps import stand_ins
from jawright.job.model import Given, Job
from jawright.job.read import read_job
from jawright.proof.population import population, scene
from jawright.proof.sources import Source, deviating, incoming, limited
from jawright.shop.model import Band3, Shop
from jawright.shop.read import read_shop

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "src" / "jawright" / "data" / "demo"
EDGE = 'edge_break = "0.30 mm"'
WIDTHS = [29.93, 29.97, 29.98, 30.0, 30.01, 30.01, 30.02, 30.03, 30.05, 30.06, 30.2]


def job_with(folder: Path, line: str, *, old: str = 'profile = "0.40 mm"') -> Job:
    """The demo job with its profile line in [incoming], or another, replaced."""
    text = (DEMO / "pawl.toml").read_text(encoding="utf-8").replace(old, line)
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return read_job(folder / "job.toml")


def shop_with(folder: Path, lines: str) -> Shop:
    text = (DEMO / "shop.toml").read_text(encoding="utf-8")
    (folder / "shop.toml").write_text(f"{text}\n{lines}\n", encoding="utf-8")
    return read_shop(folder / "shop.toml")


def widths(folder: Path, *, unit: float = 1.0, name: str = "width_mm", mark: str = ",") -> None:
    rows = [f"part{mark}{name}"]
    rows += [
        f"{i}{mark}{str(w * unit).replace('.', ',' if mark == ';' else '.')}" for i, w in enumerate(WIDTHS)
    ]
    (folder / "widths.csv").write_text("# first side\n" + "\n".join(rows) + "\n", encoding="utf-8")


def test_measured_widths_become_growth(tmp_path: Path) -> None:
    """Half of what each width is off its nominal; the zone holds them all."""
    widths(tmp_path)
    job = job_with(tmp_path, 'profile = { from = "widths.csv", column = "width_mm", nominal = "30 mm" }')
    got = job.incoming.profile
    assert got.values == pytest.approx([(w - 30) / 2 for w in WIDTHS])
    assert got.value == pytest.approx(0.2)
    assert got.basis == "job: 11 values of width_mm in widths.csv"
    s = scene(block.hold(), job, block.quiet_shop())
    drawn = s.sources[0].draw(200_000, "test")
    assert set(np.round(drawn, 9)) == {round((w - 30) / 2, 9) for w in WIDTHS}
    assert s.sources[0].mean == pytest.approx(np.mean(got.values))
    assert drawn.std() == pytest.approx(s.sources[0].sigma, rel=0.01)


@pytest.mark.parametrize(
    ("unit", "name", "more"), [(1 / 25.4, "width_in", ""), (1.0, "width", ', unit = "mm"')]
)
def test_the_unit_is_that_of_the_column(tmp_path: Path, unit: float, name: str, more: str) -> None:
    widths(tmp_path, unit=unit, name=name, mark=";")
    line = f'profile = {{ from = "widths.csv", column = "{name}", nominal = "30 mm"{more} }}'
    values = job_with(tmp_path, line).incoming.profile.values
    assert values == pytest.approx([(w - 30) / 2 for w in WIDTHS], abs=1e-9)


@pytest.mark.parametrize(
    ("line", "code", "says"),
    [
        ('profile = { from = "none.csv", column = "width_mm" }', "file-missing", "none.csv"),
        ('profile = { from = "../widths.csv", column = "width_mm" }', "value-bad", "leads out"),
        ('profile = { from = "/widths.csv", column = "width_mm" }', "value-bad", "leads out"),
        ('profile = { from = "widths.csv", column = "height_mm" }', "value-bad", "part, width_mm"),
        ('profile = { from = "widths.csv", column = "part" }', "unit-missing", "does not say its unit"),
        ('profile = { from = "widths.csv" }', "value-bad", "from and column"),
        ('profile = { value = "0.4 mm" }', "value-bad", "a distribution"),
        ('profile = { value = "0.4 mm", distribution = "cubic" }', "value-bad", "normal, uniform"),
        ('profile = { value = "0.4 mm", shape = "normal" }', "key-unknown", "shape"),
        ('profile = { from = "few.csv", column = "w_mm" }', "value-bad", "between 10 and"),
        ('profile = { from = "bad.csv", column = "w_mm" }', "value-bad", '"x" in row 3'),
    ],
)
def test_bad_measurements_are_refused_with_their_place(
    tmp_path: Path, line: str, code: str, says: str
) -> None:
    widths(tmp_path)
    (tmp_path / "few.csv").write_text("w_mm\n0.1\n0.2\n")
    (tmp_path / "bad.csv").write_text("w_mm\n0.1\nx\n" + "0.1\n" * 10)
    with pytest.raises(JawrightError) as e:
        job_with(tmp_path, line)
    assert e.value.code == code
    assert says in str(e.value)
    assert "job.toml:" in e.value.where


def test_a_stated_distribution_is_drawn(tmp_path: Path) -> None:
    job = job_with(tmp_path, 'profile = { value = "0.4 mm", distribution = "uniform" }')
    s = scene(block.hold(), job, block.quiet_shop())
    assert (s.sources[0].kind, s.sources[0].size) == ("uniform", pytest.approx(0.2))
    plain = scene(block.hold(), job_with(tmp_path, 'profile = "0.40 mm"'), block.quiet_shop())
    assert plain.sources[0].kind == "cut"


def test_edge_breaks_are_measured_as_sizes(tmp_path: Path) -> None:
    """The smallest stands for edge_break, whatever the model shows; the rest is how they vary."""
    found = (0.3, 0.32, 0.41, 0.44, 0.5, 0.28, 0.35, 0.37, 0.45, 0.52)
    (tmp_path / "edges.csv").write_text("edge_mm\n" + "\n".join(map(str, found)), encoding="utf-8")
    line = 'edge_break = { from = "edges.csv", column = "edge_mm" }'
    job = job_with(tmp_path, line, old=EDGE)
    edge = job.incoming.edge_break
    assert edge.value == 0.28 and edge.values == found and edge.shape == "measured"
    assert "incoming.edge_break" not in {key for key, _, _ in stand_ins(job)}


def test_a_largest_edge_break_below_the_smallest_is_refused(tmp_path: Path) -> None:
    with pytest.raises(JawrightError, match="largest edge break"):
        job_with(tmp_path, f'{EDGE}\nedge_break_most = "0.2 mm"', old=EDGE)


def test_every_number_of_the_shop_can_be_measured(tmp_path: Path) -> None:
    values = np.round(np.random.default_rng(3).normal(0.002, 0.004, 40), 5)
    (tmp_path / "m.csv").write_text("x_mm\n" + "\n".join(map(str, values)) + "\n")
    (tmp_path / "t.csv").write_text("swing\n" + "\n".join(map(str, values * 500)) + "\n")
    sigmas = ("bored_position", "drilled_position", "edge_pickup", "bore_pickup", "jaw_cut", "jaw_reseat")
    swings = ("temperature_swing", "jaw_temperature", "machine_temperature")
    lines = [f'{k} = {{ from = "m.csv", column = "x_mm" }}' for k in sigmas]
    lines += [f'{k} = {{ from = "t.csv", column = "swing" }}' for k in swings]
    text = (DEMO / "shop.toml").read_text(encoding="utf-8")
    head = text.split("[scatter]")[0] if "[scatter]" in text else text
    (tmp_path / "shop.toml").write_text(head + "\n[scatter]\n" + "\n".join(lines) + "\n", encoding="utf-8")
    shop = read_shop(tmp_path / "shop.toml")
    for k in sigmas:
        band: Band3 = getattr(shop, k)
        assert band.values == pytest.approx(tuple(values))
        assert band.set == pytest.approx(values.std(ddof=1))
        # 95 % interval of a standard deviation (e-Handbook 7.2.3.1)
        low, high = (np.sqrt(39 * band.set**2 / stats.chi2.ppf(q, 39)) for q in (0.975, 0.025))
        assert (band.low, band.high) == (pytest.approx(low), pytest.approx(high))
        assert band.basis == "shop file: 40 values of x_mm in m.csv"
    for k in swings:
        assert getattr(shop, k).set == pytest.approx(np.abs(values * 500).max())
    hold = replace(samples.hold(), reused=True)
    now = population(hold, block.job(), shop, "set")
    kinds = {q.label: q.kind for q in now.scene.sources}
    for label in (
        "place of a bored hole",
        "work offset pick-up",
        "how true the jaws are cut",
        "seat of a pair put back",
        "temperature of the part",
        "temperature of the jaws",
        "temperature of the machine",
    ):
        assert kinds[label] == "measured", label


@pytest.mark.parametrize(
    "source",
    [
        deviating("k", "l", Band3(0.004, 0.005, 0.006, "b"), "set"),
        deviating("k", "l", Band3(0.004, 0.005, 0.006, "b", "uniform"), "high"),
        deviating("k", "l", Band3(0.1, 0.2, 0.3, "b", "measured", (0.1, 0.2, 0.6, 0.9)), "low"),
        limited("k", "l", Band3(1.0, 2.0, 3.0, "b"), "set"),
        limited("k", "l", Band3(1.0, 2.0, 3.0, "b", "normal"), "high"),
        incoming("k", "l", Given(0.2, "b"), "high", share=0.5),
        incoming("k", "l", Given(0.2, "b", "uniform"), "low"),
        incoming("k", "l", Given(0.9, "b", "measured", (0.1, 0.2, 0.9)), "low"),
        Source("k", "l", "rise", 0.02, "b"),
    ],
)
def test_what_is_drawn_has_the_mean_and_sigma_it_says(source: Source) -> None:
    drawn = source.draw(400_000, "moments")
    assert drawn.mean() == pytest.approx(source.mean, abs=4 * source.sigma / np.sqrt(len(drawn)))
    assert drawn.std() == pytest.approx(source.sigma, rel=0.01)


def test_edges_and_bored_holes_are_picked_up_differently(tmp_path: Path) -> None:
    """Soft jaws have a bored tooling hole, hard jaws have edges; one figure given stands for both."""
    shop = read_shop(DEMO / "shop.toml")
    soft = samples.hold()
    hard = replace(soft, kind="hard jaws")
    sizes = {}
    for h in (soft, hard):
        sources = scene(h, block.job(), shop).sources
        sizes[h.kind] = next(q for q in sources if q.key == "pickup X").size
    assert shop.bore_pickup is not None and shop.edge_pickup is not None
    assert sizes == {"soft jaws": shop.bore_pickup.set, "hard jaws": shop.edge_pickup.set}
    text = (DEMO / "shop.toml").read_text(encoding="utf-8")
    if "[scatter]" not in text:
        one = shop_with(tmp_path, '[scatter]\noffset_pickup = "0.02 mm"')
        assert one.bore_pickup == one.edge_pickup == one.offset_pickup


def test_warm_jaws_push_the_part_off_and_warm_scales_reach_too_far() -> None:
    """Jaws α 23.6e-6 1/K or so: a wall 25 in front of the vise's face moves 25 α per kelvin."""
    shop = samples.shop()
    blank = max(b.thickness for b in shop.blanks)
    h = block.hold()
    s = scene(replace(h, kind="soft jaws"), block.job(), shop)
    sample = np.zeros((1, len(s.sources)))
    sample[0, s.column("jaw temperature")] = 10.0
    pose = s.seated(sample).pose[0]
    alpha = material(shop.blanks[0].material).cte
    assert alpha is not None
    assert pose[1] == pytest.approx(-10 * alpha * blank, rel=0.05)
    assert pose[0] == pytest.approx(-30 * 10 * alpha, rel=0.05)


@pytest.mark.long
def test_measurements_reach_the_plan(tmp_path: Path) -> None:
    """The proofs of a plan name the file; the record keeps the values."""
    widths(tmp_path)
    (tmp_path / "pawl.step").write_bytes((DEMO / "pawl.step").read_bytes())
    job = job_with(tmp_path, 'profile = { from = "widths.csv", column = "width_mm", nominal = "30 mm" }')
    record = plan(job, read_shop(DEMO / "shop.toml"))
    assert record.job.incoming.profile.values
    floated = [p for p in record.proofs if p.name == "range of incoming sizes"]
    assert any("11 values of width_mm in widths.csv" in a for p in record.proofs for a in p.assumptions)
    assert len(floated) == 1
