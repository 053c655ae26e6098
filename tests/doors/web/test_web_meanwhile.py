"""What happens between drawing a page and answering it: others change the same, the rack changes."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest

from doors.web.served import ASK, Page
from jawright import record_json
from jawright.doors.web import show
from jawright.doors.web.inputs import ABOUT, about_of, digest
from jawright.doors.web.news import rack_now
from jawright.doors.web.store import DECIDED, SO_FAR, demo, put
from jawright.papers import bundle
from jawright.rack import entry
from jawright.rack.store import Rack
from jawright.record import Record
from papers import sample


def test_the_later_one_is_told_what_somebody_else_wrote(web: Page) -> None:
    job = web.demo()

    def put(**fields: str) -> dict[str, object]:
        data = {k.replace("__", "."): v for k, v in fields.items()}
        answer: dict[str, object] = web.http.post(f"/jobs/{job}/set", data=data, headers=ASK).json()
        return answer

    assert "go" in put(job__quantity="33", was__job__quantity="40")
    told = put(job__quantity="44", was__job__quantity="40")["problem"]
    assert isinstance(told, dict)
    assert told["code"] == "changed-meanwhile" and told["field"] == "job.quantity" and "33" in told["what"]
    assert web.data(job)["job"]["quantity"] == 33
    assert "go" in put(job__quantity="44")  # said once more, it stands
    # a field nobody touched does not take back what another wrote
    put(
        job__name="Other",
        job__quantity="44",
        was__job__name="Ratchet pawl, back side",
        was__job__quantity="33",
    )
    assert web.data(job)["job"] | {"name": "Other"} == web.data(job)["job"]
    assert web.data(job)["job"]["quantity"] == 44


def test_the_unit_of_the_reader_is_no_change(web: Page) -> None:
    job = web.demo()
    web.ask(f"/jobs/{job}/set", hold__grip_depth="5 mm")
    answer = web.http.post(
        f"/jobs/{job}/set",
        data={"hold.grip_depth": "6 mm", "was.hold.grip_depth": "5 mm"},
        headers={**ASK, "cookie": "units=inch"},
    )
    assert "go" in answer.json()


def test_a_thing_of_the_shop_is_guarded_alike(web: Page) -> None:
    at = "/shop/vises/0"
    first = {"was": "V150", "opening": "210 mm", "was.opening": "200 mm"}
    assert "go" in web.http.post(at, data=first, headers=ASK).json()
    told = web.http.post(at, data={**first, "opening": "190 mm"}, headers=ASK).json()["problem"]
    assert told["code"] == "changed-meanwhile" and told["field"].endswith("opening") and "210" in told["what"]


def test_the_part_as_it_comes_is_given_as_a_file_and_taken_out_again(web: Page) -> None:
    job = web.demo()
    head = {**ASK, "x-file-name": "first side.STP"}
    refused = web.http.post(f"/jobs/{job}/incoming", headers={**head, "x-file-name": "a.dxf"}, content=b"x")
    assert refused.json()["problem"]["code"] == "file-not-step"
    assert web.http.post(f"/jobs/{job}/incoming", headers=head, content=b"x" * 90).status_code == 422
    assert web.http.post(f"/jobs/{job}/incoming", headers=head, content=demo("pawl.step")).json()["go"]
    name = web.data(job)["incoming"]["model"]
    assert name.startswith("incoming-") and (web.store.path(job) / name).read_bytes() == demo("pawl.step")
    assert "A STEP solid is given" in web.get(f"/jobs/{job}").text
    assert web.http.post(f"/jobs/{job}/incoming", headers=ASK, content=b"").json()["go"]
    assert "model" not in web.data(job).get("incoming", {})
    web.ask(f"/jobs/{job}/undo")
    assert web.data(job)["incoming"]["model"] == name  # the file is still there for it


@pytest.mark.parametrize("status", ["usable", "dead"])
def test_a_change_of_the_rack_is_told_on_the_sheets_it_may_matter_to(web: Page, status: str) -> None:
    job, record = web.demo(), sample.good_record()
    about = about_of(record, digest(web.store.job(job).text(), web.store.shop.text()))
    about["rack"] = rack_now(web.store.folder)
    bundle.write(record, web.store.path(job) / "result", {ABOUT: json.dumps(about).encode()})
    text = web.get(f"/jobs/{job}/sheet").text
    assert "The rack changed" not in text
    with Rack(web.store.folder / "rack.db") as rack:
        rack.add(entry.from_record(record, pair_id="DW-1"))
    assert "The rack changed" not in web.get(f"/jobs/{job}/sheet").text  # its own jaws
    other = entry.from_record(record, pair_id="DW-2")
    cuts = tuple(
        type(c)(**{**{f: getattr(c, f) for f in c.__slots__}, "program": "0" * 64}) for c in other.cuts
    )
    with Rack(web.store.folder / "rack.db") as rack:
        rack.add(type(other)(**{**{f: getattr(other, f) for f in other.__slots__}, "cuts": cuts}))
        rack.out("DW-2", "mill 1")
        rack.back("DW-2", status=status, why="dropped")
    text = web.get(f"/jobs/{job}/sheet").text
    assert "The rack changed since this was planned" in text and "DW-2 came" in text


def test_a_sheet_so_far_never_reads_as_one_to_cut_from(web: Page) -> None:
    """While a plan goes on its drawings and answers are there, under a strip that forbids cutting."""
    job = web.demo()
    web.leave(job, sample.good_record())
    web.ask(f"/jobs/{job}/plan")
    assert 'id="so-far"' not in web.get(f"/jobs/{job}/sheet").text, "nothing is known yet"
    run = web.runner.of(f"plan {job}")
    assert run is not None
    whole = sample.good_record()
    known = replace(whole, proofs=(), verdict="unknown", program=None, verification=None, torque=None)
    for record, answered in ((known, "no"), (replace(known, proofs=whole.proofs), "yes")):
        put(web.store.path(job) / SO_FAR, record_json.dumps(record).encode())
        run.so_far += 1
        text = web.get(f"/jobs/{job}/sheet").text
        assert f'data-answered="{answered}"' in text and "do not cut from this" in text
        assert "Ready for a first part" not in text and "package.zip" not in text
        assert ("NOT ANSWERED YET" in text) is (answered == "no")
        drawn = re.search(r'src="(/jobs/[^"]+plan\.svg\?so-far=[^"]+)"', text)
        assert drawn is not None and web.get(drawn[1].replace("&amp;", "&")).status_code == 200
        twin = web.get(f"/jobs/{job}/sheet.json").json()["so_far"]
        assert twin["c"]["ready"] is False and twin["answered"] is (answered == "yes")
    web.runner.stop(f"plan {job}")
    assert 'id="so-far"' not in web.get(f"/jobs/{job}/sheet").text, "what was planned before stands again"


def test_a_record_read_while_its_papers_are_written_is_not_read_again(
    web: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = web.demo()
    folder = web.store.path(job)
    record = replace(sample.good_record(), made="2001-02-03")  # one that no other test has read
    put(folder / DECIDED, record_json.dumps(record).encode())
    web.leave(job, record)
    loads, read = record_json.loads, []

    def counted(text: str, where: str = "record") -> Record:
        read.append(where)
        return loads(text, where)

    monkeypatch.setattr(record_json, "loads", counted)
    show.decided(folder)
    assert len(read) == 1
    assert "2001-02-03" in web.get(f"/jobs/{job}/sheet").text
    assert len(read) == 1
    (folder / DECIDED).write_text("{")
    show.decided(folder)  # what is wrong with it is told when the page asks for the result
    (folder / DECIDED).unlink()
    show.decided(folder)
