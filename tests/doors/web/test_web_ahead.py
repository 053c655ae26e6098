"""A plan is begun while its questions are still being read; it is taken only for the very same question."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from doors.web.served import Page
from jawright import begun as first_steps
from jawright.doors.web import work
from jawright.doors.web.runner import Run, Runner
from jawright.doors.web.store import demo
from jawright.errors import JawrightError
from jawright.part.model import Part
from papers import sample

FAILS = JawrightError("value-bad", what="nothing is planned here", where="test")


def test_it_is_begun_when_the_questions_are_answered_and_nothing_goes_on(web: Page) -> None:
    job = web.demo()
    web.get(f"/jobs/{job}")
    assert web.runner.begun == [job]
    web.runner.begun.clear()
    web.ask(f"/jobs/{job}/plan")
    web.get(f"/jobs/{job}")  # planning goes on: there is nothing to begin
    assert web.runner.begun == []
    web.runner.stop(f"plan {job}")
    web.leave(job, sample.good_record())
    web.get(f"/jobs/{job}")  # planned as it stands
    assert web.runner.begun == []
    web.ask(f"/jobs/{job}/set", job__quantity="41")
    web.get(f"/jobs/{job}")
    assert web.runner.begun == [job]


def test_a_job_without_its_answers_is_not_begun(web: Page) -> None:
    head = {"origin": "http://127.0.0.1:8731", "accept": "application/json", "x-file-name": "a.step"}
    at = web.http.post("/jobs", headers=head, content=demo("pawl.step")).json()["go"]
    web.see(at.removeprefix("/jobs/"))
    web.get(at)
    assert web.runner.begun == []


def test_what_was_begun_serves_the_same_question_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "jobs" / "pawl"
    folder.mkdir(parents=True)
    for name in ("pawl.toml", "pawl.step", "shop.toml"):
        to = {"pawl.toml": folder / "job.toml", "pawl.step": folder / name}.get(name, tmp_path / name)
        to.write_bytes(demo(name))
    shutil.copyfile(tmp_path / "shop.toml", folder / "shop.toml")
    begun, taken, read = [], [], []

    def begin(job: object, shop: object, *, ahead: bool, part: object) -> object:
        assert job and shop and ahead
        read.append(part)
        begun.append(object())
        return begun[-1]

    def plan(*_: object, begun: object, **__: object) -> None:
        taken.append(begun)
        raise FAILS

    def planned() -> None:
        with pytest.raises(JawrightError, match="nothing is planned here"):
            work.plan_job(folder, lambda text="", *, so_far=False: None)

    monkeypatch.setattr(first_steps, "begin", begin)
    monkeypatch.setattr(work, "whole", plan)
    work.begin(folder)
    work.begin(folder)  # asked again: it goes on
    assert len(begun) == 1
    planned()
    assert taken == begun
    planned()  # once only
    assert taken[-1] is None
    work.begin(folder)
    (folder / "job.toml").write_text((folder / "job.toml").read_text("utf-8").replace("40", "41"), "utf-8")
    planned()
    assert taken[-1] is None
    work.begin(folder)
    other = (tmp_path / "shop.toml").read_text("utf-8") + "\n# looked at again\n"
    (folder / "shop.toml").write_text(other, "utf-8")
    planned()
    assert taken[-1] is None
    assert set(read) == {None}
    work.look_at(folder, lambda text="", *, so_far=False: None)
    assert isinstance(read[-1], Part), "begun with the part that was just read, before it is drawn"
    planned()
    assert taken[-1] is None, "for the shop as it was when the part was looked at"


def test_what_cannot_be_read_is_told_when_the_plan_is_asked_for(tmp_path: Path) -> None:
    folder = tmp_path / "jobs" / "pawl"
    folder.mkdir(parents=True)
    (folder / "job.toml").write_text("[job\n", "utf-8")
    (tmp_path / "shop.toml").write_bytes(demo("shop.toml"))
    work.begin(folder)  # says nothing
    shutil.copyfile(tmp_path / "shop.toml", folder / "shop.toml")
    with pytest.raises(Exception, match="line 1"):
        work.plan_job(folder, lambda text="", *, so_far=False: None)


def test_no_worker_is_started_for_it(tmp_path: Path) -> None:
    runner = Runner()
    runner.ahead(tmp_path)
    assert runner._idle == []
    runner.close()


def test_the_bar_moves_on_through_both_clampings() -> None:
    """Each is a plan of its own within the whole: the bar stood still through the second."""
    steps = ("reading the part", "trying stances", "designing and proving: soft jaws")
    own = [f"clamping {n} of 2: {step}" for n in (1, 2) for step in steps]
    said = [*steps[:2], *own, "writing the papers"]
    run, far = Run("j", "plan", Path()), [0.0]
    for step in said:
        run.steps.append(step)
        far.append(run.share)
    assert far == sorted(set(far)) and far[-1] == pytest.approx(0.9)
