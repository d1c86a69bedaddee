"""The verdict on the wrong loads of one clamping, and what would catch those that escape."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.model.fact import Fact, exact_fact
from proveout.model.loading import Loading, Pin, WrongLoad
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Machine, Probe
from proveout.model.work import Clamping
from proveout.stages.loading.looks import SEEN_DEEP_MM, SEEN_MM
from proveout.stages.loading.sites import SLOP_MM

NAMED_MAX = 4


def prove_loading(
    loading: Loading, clamping: Clamping, *, machine: Machine, tolerance_mm: float, cut_varies_mm: float,
    raw_varies_mm: float, seats: bool, is_unformed: bool = False, is_of_order: bool = False,
) -> tuple[Proof, Proof]:  # fmt: skip
    """No wrong load that seats escapes; and of left-hand pieces, where any are made, none does.

    Where data of the probe are missing what the card does not tell is *not shown*; so is all where the work does not
    seat as reckoned, needs jaws cut to its shape that nobody planned (is_unformed), or where a part of the order has no
    plan that tells of its half-made pieces.
    """
    basis = Basis(
        formula=(
            f"of {loading.seats_count} poses of the work, the blank, finished, left-hand and other pieces that stand "
            f"on the seat with a side flush at a jaw, pushed to the stop, {len(loading.wrong)} are cut wrongly: metal "
            "differs by more than the tolerance outside what this clamping cuts, or the cutter meets more of it than "
            "reckoned. Told is what a touch reads farther off than twice probe error and slop and what both pieces "
            "vary, wherever it meets them within the slop and what cut metal varies sideways, or else what the "
            "operator sees with the card beside it, or else a mark that the job file writes and a person must make on "
            "every piece. Each touch must be made at each load: the program does not make it. "
            f"{others_words(loading, is_of_order=is_of_order)} "
            "Not looked at: work that is not pushed to the stop, or lifted by a chip, and work of another metal"
        ),
        source="own-algorithm", inputs=_inputs(machine.probe, tolerance_mm, cut_varies_mm, raw_varies_mm),
    )  # fmt: skip
    unsure = unsure_words(clamping, is_unformed=is_unformed, seats=seats)
    return (
        _prove(loading, clamping, machine, basis, unsure, is_mirrored=False),
        _prove(loading, clamping, machine, basis, unsure, is_mirrored=True),
    )


def others_words(loading: Loading, *, is_of_order: bool) -> str:
    """Whose pieces were laid in beside those of the part itself, as a sentence."""
    if not is_of_order:
        return "Pieces of other parts were not laid in: the part is planned by itself."
    told = []
    if loading.others_tried:
        told.append(f"Of {_and(loading.others_tried)} blanks, half-made and finished pieces were laid in.")
    if loading.others_untried:
        told.append(
            f"Half-made pieces of {_and(loading.others_untried)} were not: there is no plan that tells of them."
        )
    return " ".join(told) or "The order has no other part."


def _and(names: Sequence[str]) -> str:
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


def prove_marks(marks: Sequence[tuple[int, str]], count: int) -> tuple[Proof, ...]:
    """Every mark that the job writes is of one of the plan's clampings, so many as count; none where it writes none."""
    if not marks:
        return ()
    lost = [number for number, _ in marks if not 1 <= number <= count]
    return (
        prove(
            id="loading:marks:of the plan's clampings", stage="loading", subject="marks",
            claim="every mark that is written belongs to a clamping of this plan"
            + (f": there is no clamping {', '.join(map(str, lost))} of {count}" if lost else ""),
            sense="at most", found_low=float(len(lost)), found_high=float(len(lost)), limit=0.0, unit="marks",
            blocks_release=False,
            basis=Basis(formula="numbers in [marks] beyond those of the clampings", source="own-algorithm"),
            remedy="write the mark at the number of the clamping that it is looked at in, or take it out",
        ),
    )  # fmt: skip


def _prove(
    loading: Loading, clamping: Clamping, machine: Machine, basis: Basis, unsure: str, *, is_mirrored: bool
) -> Proof:
    own = [one for one in loading.wrong if one.is_mirrored == is_mirrored]
    escaping = [one for one in own if one.caught_by == "none"]
    is_missing = machine.has_probe and machine.probe is None and bool(escaping)
    untried = () if is_mirrored or escaping else loading.others_untried
    found = None if is_missing or unsure or untried else float(len(escaping))
    decides = unsure
    if untried and not unsure:
        decides = f"a plan of {_and(untried)}: what of it lies about half-made, and whether it seats here"
    if is_missing and not unsure:
        decides = (
            f"[machine.probe] of {machine.id}: error, ball, stylus and body of its probe; the card alone does not tell "
            f"{named(escaping)}"
        )
    what = (
        "no left-hand piece that seats escapes, if any are made" if is_mirrored else "no wrong load that seats escapes"
    )
    remedy = loading.remedy
    if is_mirrored:
        remedy = f"{named(escaping)} would not be noticed: keep left-hand pieces away, or mark them" if escaping else ""
    return prove(
        id=f"loading:{clamping.id}:{'left-hand pieces' if is_mirrored else 'wrong loads'}", stage="loading",
        subject=f"clamping {clamping.number}", claim=f"{what}: {_by_what(own, loading)}", sense="at most",
        found_low=found, found_high=found, limit=0.0, unit="ways", blocks_release=not is_mirrored, basis=basis,
        decides=decides, remedy=remedy,
    )  # fmt: skip


def unsure_words(clamping: Clamping, *, is_unformed: bool, seats: bool) -> str:
    """Why nothing can be said of wrong loads, as what would decide it; empty where something can."""
    if is_unformed:
        return (
            f"the sizes of {clamping.jaws_id} before they are cut (blank_thickness_mm, blank_height_mm): the work "
            "needs jaws cut to its shape, and what a pocket takes that is not planned nobody can say"
        )
    if not seats:
        return "whether the work seats as planned: it does not stand by itself between these jaws as reckoned"
    return ""


def remedy_words(loads: Sequence[WrongLoad], clamping: Clamping, *, machine: Machine, pin: Pin | None) -> str:
    """The change that would catch what escapes; empty when nothing does."""
    escaping = [one for one in loads if one.caught_by == "none" and not one.is_mirrored]
    if not escaping:
        return ""
    ways = []
    if pin is not None:
        x, y = pin.at_mm
        ways.append(
            f"set a pin of {pin.diameter_mm:.0f} mm at X {x:.1f} Y {y:.1f}, {pin.top_mm:.1f} mm above the seat: it "
            f"refuses {pin.blocks_count} of {len(escaping)}"
        )
    if machine.probe is None:
        ways.append(
            f"describe [machine.probe] of {machine.id}" if machine.has_probe else "use a machine with a probe"
        )  # fmt: skip
    ways.append(
        "before the work leaves the clamping before, cut a notch into one corner of metal that this clamping takes "
        "off, or mark it there with a pen, load that corner to the stop, and write that under [marks] in the job file"
        if clamping.number > 1
        else "saw the blank so that its sides differ"
    )
    ways.append("change the order of work so that what differs is cut in one clamping")
    return f"{named(escaping)} escape{'s' if len(escaping) == 1 else ''}: {'; or '.join(ways)}"


def named(loads: Sequence[WrongLoad]) -> str:
    """Wrong loads in words, the first few."""
    words = [f"{one.what} {one.part}".strip() + f" {one.way}" for one in loads]
    more = f" and {len(words) - NAMED_MAX} more" if len(words) > NAMED_MAX else ""
    return ", ".join(words[:NAMED_MAX]) + more


def _by_what(own: Sequence[WrongLoad], loading: Loading) -> str:
    if not own:
        return "jaws and stop take none"
    if any(one.caught_by == "none" for one in own):
        return "some are told by nothing"
    if any(one.caught_by == "mark" for one in own):
        return f"nothing but the mark tells {sum(one.caught_by == 'mark' for one in own)} of them: {loading.mark}"
    if all(one.caught_by == "look" for one in own):
        return "the card alone tells them"
    count, looks = len(loading.touches), sum(one.caught_by == "look" for one in own)
    touched = f"{count} touches of the probe tell them" if count > 1 else "one touch of the probe tells them"
    return touched + (f", the card {looks} of them" if looks else "")


def _inputs(probe: Probe | None, tolerance: float, cut: float, raw: float) -> dict[str, Fact]:
    def practice(value: float) -> Fact:
        return Fact(
            low=value, nominal=value, high=value, unit="mm", source="workshop-practice", strength="common practice"
        )

    found = {
        "tolerance_mm": practice(tolerance), "cut_varies_mm": practice(cut),
        "raw_varies_mm": exact_fact(raw, "mm", "shop-file", "owner's guess"),
        "slop_mm": practice(SLOP_MM), "seen_wide_mm": practice(SEEN_MM), "seen_deep_mm": practice(SEEN_DEEP_MM),
    }  # fmt: skip
    if probe is not None:
        found["probe_error_mm"] = probe.error_mm
    return found
