"""Stories for the records: one with everything in it, and random ones."""

from __future__ import annotations

from batch_story import BARS, PLAN, Teller, open_proof
from hypothesis import strategies as st
from msgspec.structs import replace

from proveout.model.batch_events import (
    Asked,
    Bad,
    Counted,
    Done,
    EdgeUse,
    Packed,
    Planned,
    Ran,
    ReadingTaken,
    Resumed,
    Rework,
    Started,
    Stopped,
    Waived,
)
from proveout.model.change_events import PiecesSettled, RevisionEnds, RevisionStays, SolidHeld, StockSettled
from proveout.model.events import Corrected, Event, Stating
from proveout.model.fact import Fact
from proveout.model.floor_events import (
    Measure,
    OffsetAdvised,
    OffsetAnswered,
    PhotoTaken,
    SetUpAgreed,
    SetUpMeasured,
    SpindleMeterRead,
)
from proveout.model.outside_events import CameBack, CountedIn, GivenUp, Rejected, SentOut
from proveout.model.shop_events import ValueAccepted, ValueDeclined
from proveout.model.stock_events import (
    CoolantRead,
    EdgeChanged,
    GaugeChecked,
    Moved,
    PersonNoted,
    RemnantPut,
    ReorderSet,
    Sawn,
    StationNoted,
    StockCounted,
    StockPut,
    StockTaken,
)

LOST = Fact(low=0.01, nominal=0.02, high=0.03, unit="ratio", source="batch 100", strength="measured here")


ENDS = RevisionEnds(part="EX-101", ends="B", begins="C", from_day="2027-03-20", why="the bore got wider")


def long_story() -> list[Event]:
    """Every kind of event but the last, `closed`: each is accepted in this order."""
    teller = Teller()
    used = (EdgeUse(machine="mill-5", cutter="EM6", used_s=61.25),)
    count = teller(Counted(step="op1", good_count=5, used=used))
    return [
        teller(PersonNoted(who="mara", name="Mara Müller")), teller(StationNoted(which="saw", name="Säge")),
        teller(BARS), teller(Moved(item="B-1", count=2, from_place="rack 1", to_place="saw")),
        teller(EdgeChanged(machine="mill-5", cutter="EM6", life_s=3600.0)),
        teller(CoolantRead(machine="mill-5", share_ratio=0.07, ph=9.1, added_l=12.0, note="=foam")),
        teller(Asked(part="EX-101", revision="B", wanted_count=8, due="2027-04-12")),
        teller(Planned(plan=PLAN, opens=(open_proof(),))),
        teller(Waived(proof_id="bench:edges:time", reason="edges were timed on the last batch")),
        teller(teller.released()), *teller.sawn(10), teller(Done(step="saw")),
        teller(RemnantPut(item="R-1", of="B-1", heat="H77", length_mm=410.0, place="rack 9", alloy="6061-T6",
                          section="120x30")),
        teller(SetUpMeasured(step="op1", program="ab" * 6, revision="B",
                             measures=(Measure(name="zero X", value_mm=1.5),))),
        teller(SetUpAgreed(step="op1", set_up="x", why="looked at it in a dry run")),
        teller(Started(step="op1")), count, teller(PhotoTaken(step="op1", photo=PLAN, about="burr")),
        teller(OffsetAdvised(step="op1", offset="D2", shift_mm=-0.01, why="creeps", mark="7")),
        teller(OffsetAnswered(step="op1", advice="y", is_taken=False)),
        teller(SpindleMeterRead(step="op1", cut="p", load=31.0, idle=6.0, unit="%", edge="used", edge_min=20.0)),
        teller(Ran(step="op1", program="O1", begun="2027-03-01T07:00:09Z", run_s=611.5, held_s=20.0, held_count=1)),
        teller(ReadingTaken(step="op1", mark="7", value=20.0681, piece="1")),
        teller(Stopped(step="op1", why="size creeps", told="jon")), teller(Resumed(step="op1", why="new edge")),
        teller(Counted(step="op1", good_count=3, bad=(Bad(reason="wall too thin", count=1),))),
        teller(Corrected(event_id=count.id, why="one was still in the vise",
                         instead=Counted(step="op1", good_count=4, used=used))),
        teller(Started(step="bench")),
        teller(Counted(step="bench", good_count=6, rework=(Rework(to_step="op1", reason="burr", count=1),))),
        teller(SentOut(step="coat", lot="L1", finisher="coater", count=4, promised="2027-03-12")),
        teller(SentOut(step="coat", lot="L2", finisher="coater", count=2)),
        teller(CameBack(lot="L1", count=4)), teller(CountedIn(lot="L1", good_count=3)),
        teller(Moved(to_place="shelf 2")),
        teller(GivenUp(lot="L1", count=1, reason="never found")),
        teller(Rejected(lot="L1", count=1, reason="thin coat", claim_until="2027-03-26")),
        teller(Started(step="look")), teller(ReadingTaken(step="look", mark="7", value=20.034, lot="L1")),
        teller(Counted(step="look", good_count=2)), teller(Started(step="pack")), teller(Packed(step="pack", count=1)),
        teller(Packed(step="pack", count=1, code="box 1", place="shelf 3", part="EX-101", revision="B")),
        teller(StockPut(item="K", sort="kit", name="screws", count=50, place="shelf", part="EX-101", revision="B")),
        teller(StockTaken(item="K", count=2, place="shelf")), teller(ReorderSet(item="K", at_count=60)),
        teller(StockCounted(item="K", count=47, place="shelf")),
        teller(ValueAccepted(shop="Example", key="scrap", was=None, now=LOST, batches=("100",), pieces_count=10)),
        teller(ValueDeclined(shop="Example", key="scrap", now=LOST, batches=("100", "101"), why="one odd batch")),
        teller(ENDS), teller(SolidHeld(part="EX-101", ends="B", plan=PLAN, solid=PLAN, found=PLAN)),
        teller(PiecesSettled(step="op1", count=1, fate="use as they are", why="the customer takes them so")),
        teller(PiecesSettled(step="coat", count=1, fate="use as they are", why="the customer takes them so")),
        teller(StockSettled(item="K", place="shelf", count=7, fate="set aside", why="their screws are too short")),
        teller(RevisionStays(part="EX-101", ends="B", why="the change comes later")),
        teller(GaugeChecked(gauge="coat 1", by="foil of 50 µm", is_right=True, until="2027-12-31")),
    ]  # fmt: skip


STEPS = st.sampled_from(["saw", "op1", "bench", "coat", "look", "pack"])
COUNTS = st.integers(1, 5)
LOTS = st.sampled_from(["L1", "L2"])
BADS = st.sampled_from([(), (Bad(reason="burr", count=1),), (Bad(reason="scratch", count=2),)])
USES = st.sampled_from([(), (EdgeUse(machine="mill-5", cutter="EM6", used_s=33.3),)])
MILLED = st.sampled_from(["op1", "bench", "look"])
HAPPENINGS: st.SearchStrategy[Stating] = st.one_of(
    st.builds(Started, step=STEPS),
    st.builds(Counted, step=MILLED, good_count=COUNTS, bad=BADS, used=USES),
    st.builds(Counted, step=st.just("bench"), good_count=COUNTS,
              rework=st.just((Rework(to_step="op1", reason="burr", count=1),))),
    st.builds(Sawn, step=st.just("saw"), item=st.just("B-1"), heat=st.just("H77"), good_count=COUNTS, bad=BADS,
              place=st.sampled_from(["rack 1", "saw"]), bars_count=st.integers(1, 3)),
    st.builds(SentOut, step=st.just("coat"), lot=LOTS, finisher=st.just("coater"), count=COUNTS),
    st.builds(CameBack, lot=LOTS, count=COUNTS),
    st.builds(CountedIn, lot=LOTS, good_count=COUNTS, bad=BADS),
    st.builds(Rejected, lot=LOTS, count=st.integers(1, 2), reason=st.just("thin coat")),
    st.builds(GivenUp, lot=LOTS, count=st.integers(1, 2), reason=st.just("lost")),
    st.builds(Packed, step=st.just("pack"), count=COUNTS),
    st.builds(Packed, step=st.just("pack"), count=COUNTS, code=st.sampled_from(["", "box 1"]), part=st.just("EX-101"),
              place=st.sampled_from(["packing", "shelf 3"]), revision=st.just("B")),
    st.builds(StockTaken, item=st.just("box 1"), count=st.integers(1, 2), place=st.just("shelf 3")),
    st.builds(ReadingTaken, step=st.sampled_from(["op1", "look"]), mark=st.just("7"), value=st.floats(19.9, 20.1)),
    st.builds(Stopped, step=MILLED, why=st.just("chatter"), told=st.just("jon")),
    st.builds(Resumed, step=MILLED, why=st.just("new edge")),
    st.builds(Done, step=STEPS),
    st.builds(Moved, item=st.just("B-1"), count=COUNTS, from_place=st.just("rack 1"), to_place=st.just("saw")),
    st.builds(EdgeChanged, machine=st.just("mill-5"), cutter=st.just("EM6"), life_s=st.sampled_from([None, 3600.0])),
    st.builds(StockPut, item=st.just("K"), sort=st.just("kit"), name=st.just("screws"), count=COUNTS,
              place=st.sampled_from(["shelf", "bench"])),
    st.builds(StockTaken, item=st.just("K"), count=COUNTS, place=st.just("shelf")),
    st.builds(PiecesSettled, step=STEPS, count=st.integers(1, 3), why=st.just("the revision ends"),
              fate=st.sampled_from(["use as they are", "set aside", "scrap"])),
    st.just(ENDS), st.builds(RevisionStays, part=st.just("EX-101"), ends=st.just("B"), why=st.just("not after all")),
    st.builds(StockSettled, item=st.just("K"), place=st.sampled_from(["shelf", "bench"]), count=st.integers(1, 3),
              fate=st.sampled_from(["use as they are", "set aside", "scrap"]), why=st.just("the revision ends")),
    st.builds(GaugeChecked, gauge=st.just("G"), by=st.just("foil"), is_right=st.booleans().filter(bool),
              until=st.sampled_from(["2020-01-01", "2999-01-01"])),
    st.just(GaugeChecked(gauge="G", by="foil", is_right=False)),
    st.builds(ReadingTaken, step=st.just("op1"), mark=st.just("7"), value=st.floats(19.9, 20.1), gauge=st.just("G")),
    st.builds(CoolantRead, machine=st.just("mill-5"), ph=st.floats(7.0, 10.0)),
)  # fmt: skip
STORIES = st.lists(
    st.one_of(
        HAPPENINGS, HAPPENINGS,
        st.tuples(st.integers(0, 4) | st.integers(0, 200), st.sampled_from([None, -1, 0, 1, 2])),
    ),
    min_size=15, max_size=40,
)  # fmt: skip
"""What is tried one after the other; a pair corrects an earlier event: which, and by how much its count was wrong, None
where it never happened."""


def otherwise(of: Stating, more: int) -> Stating:
    """What might have happened instead: the same with another count, or another reading."""
    for field in ("good_count", "count", "value", "ph"):
        if (value := getattr(of, field, None)) is not None:
            return replace(of, **{field: value + more})
    return of
