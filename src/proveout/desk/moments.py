"""The work at any moment: the strip of minutes, and the metal with all that stands about it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from threading import Lock
from typing import Any

import msgspec
import numpy as np
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from proveout.desk.asker import while_asked
from proveout.desk.lengths import reads_inches
from proveout.desk.page import desk_of, in_inches_of, page
from proveout.jobs.faces import face_rows, told_of_face
from proveout.jobs.held import Held
from proveout.jobs.home import Place
from proveout.jobs.measuring import Measured, measured
from proveout.jobs.minutes import strip_of, weakest_of
from proveout.jobs.moments import Moments, store_of_metal, turns_of_metal
from proveout.jobs.packed import packed, stepped
from proveout.jobs.part_mesh import part_mesh, solid_of
from proveout.jobs.store import Store, default_folder
from proveout.jobs.turns import Turns
from proveout.jobs.work_scene import stands_of
from proveout.model.run import Run
from proveout.model.solid import Solid
from proveout.quantities.errors import BadInput
from proveout.quantities.units import MM_PER_INCH
from proveout.sheets.minutes_strip import Strip, block_words, margin_words, strip_svg

router = APIRouter()
HELD_COUNT = 3  # parts whose moments are kept at hand
_MAKING = Lock()


class Shown:
    """One planned part as this page shows it, made once for each plan."""

    def __init__(self, place: Place, turns: Turns) -> None:
        self.place, self.plan, self.shop = place, place.plan, place.shop
        self.store = Store(default_folder())
        self.moments = Moments(
            plan=self.plan, shop=self.shop, folder=place.folder, store=store_of_metal(default_folder()), turns=turns
        )  # fmt: skip
        self.strip: Strip = strip_of(self.plan, self.shop)
        self.stands = stands_of(self.plan, self.shop)
        self.weakest = weakest_of(self.plan)
        self._solid: Solid | None = None
        self._reading = Lock()

    def solid(self) -> Solid:
        """The part's exact solid, read once."""
        step = self.place.step
        if step is None:
            raise BadInput(
                "The plan's own STEP file is not there", where=str(self.place.folder), do="plan the part again"
            )
        with self._reading:
            if self._solid is None:
                self._solid = solid_of(self.plan, step, self.place.job, store=self.store, run=Run())
            return self._solid


class EveryShown:
    """The parts that one desk shows so, and the turns of all who ask for their metal."""

    def __init__(self) -> None:
        self.held: Held[str, Shown] = Held(most_count=HELD_COUNT)
        self.turns = turns_of_metal()


def shown_of(request: Request, address: str) -> Shown:
    """The part at an address, held from request to request until it is planned anew."""
    place = desk_of(request).home.place(address)
    with _MAKING:  # its moves are read once, however many ask
        every: EveryShown | None = getattr(request.app.state, "moments", None)
        if every is None:
            every = request.app.state.moments = EveryShown()
        one = every.held.get(address)
        if one is None or one.place.mark != place.mark:
            one = Shown(place, every.turns)
            every.held.put(address, one)
        return one


@router.get("/parts/{address}/work")
def work(request: Request, address: str) -> HTMLResponse:
    """The page: the strip, the steps, and the list of passes that stands for the picture where there is none."""
    shown = shown_of(request, address)
    index = _pass_of(request, shown) - 1
    here = f"/parts/{address}/work"
    blocks = {block.index: block for block in shown.strip.blocks}
    block = blocks.get(index)
    order = [one.index for one in shown.strip.blocks]
    steps = _steps(shown, order, index)
    clamping = block.clamping if block is not None else 1
    stand = next((one for one in shown.stands if one.number == clamping), None)
    svg = strip_svg(shown.strip, address=here, chosen=index)
    return page(
        request, "work.html", title="The work at any moment", place=shown.place, here=here, strip=svg,
        blocks=shown.strip.blocks, block=block, words=block_words, steps=steps, stand=stand, minutes=minutes_words,
        total_s=shown.strip.total_s, margin=margin_words,
    )  # fmt: skip


def minutes_words(seconds: float) -> str:
    """Seconds as minutes and seconds."""
    from proveout.sheets.ink import printed

    return printed(seconds, unit="min:s", digits=0)


@router.get("/parts/{address}/work/scene")
def scene(request: Request, address: str) -> Response:
    """Passes, clampings and cutters for the picture."""
    shown, said = shown_of(request, address), _said(request, address)
    weakest = shown.weakest
    blocks = [
        {
            **asdict(block), "number": block.index + 1, "said": said(block_words(block)),
            "cutter_id": shown.plan.passes[block.index].cutter_id,
            "clamping_id": shown.plan.passes[block.index].clamping_id,
        }
        for block in shown.strip.blocks
    ]  # fmt: skip
    told: dict[str, Any] = {
        "blocks": blocks, "stretches": [asdict(one) for one in shown.strip.stretches], "total_s": shown.strip.total_s,
        "stands": shown.stands,
        "weakest": None if weakest is None else {
            "number": weakest.index + 1,
            "share": 1.0 if weakest.weak.move is None
            else shown.moments.share_of_move(weakest.index, weakest.weak.move),
        },
    }  # fmt: skip
    return _json(told)


@router.get("/parts/{address}/work/metal")
async def metal(request: Request, address: str) -> Response:
    """The metal when a share of a pass is done, and where its cutter is; nothing is cut on for whoever has left."""
    return await while_asked(request, lambda run: _metal(request, address, run))


def _metal(request: Request, address: str, run: Run) -> Response:
    shown = shown_of(request, address)
    found = shown.moments.metal(index=_pass_of(request, shown) - 1, share=_share_of(request), run=run)
    head, whole = stepped(found.vertices_mm)
    head |= {"volume_mm3": found.volume_mm3, "pitch_mm": found.pitch_mm, "place": found.place}
    arrays = {"points": whole, "triangles": found.triangles.astype("u4"), "edges": found.edges.astype("u4")}
    return _bytes(packed(head, arrays))


@router.get("/parts/{address}/work/way")
def way(request: Request, address: str) -> Response:
    """The way of the cutter's tip in a pass, in the clamping's frame: rapid stretches told from cutting ones."""
    shown = shown_of(request, address)
    number = _pass_of(request, shown)
    if number < 1:
        return _bytes(packed({}, {"points": np.zeros(0, "f4"), "rapid": np.zeros(0, "u4")}))
    points, rapid = shown.moments.way(number - 1)
    return _bytes(packed({}, {"points": points.astype("f4"), "rapid": rapid.astype("u4")}))


@router.get("/parts/{address}/work/part")
def part(request: Request, address: str) -> Response:
    """The finished part with a number for every face, and what the plan leaves on each."""
    shown = shown_of(request, address)
    mesh = part_mesh(shown.solid())
    rows, said = face_rows(shown.plan, mesh.face_ids), _said(request, address)
    head, whole = stepped(mesh.vertices_mm, mesh.face)
    head |= {
        "faces": [asdict(row) | {"name": said(row.name), "mark": said(row.mark)} for row in rows],
        "centres_mm": mesh.centres_mm.tolist(),
    }
    arrays = {"points": whole, "triangles": mesh.triangles.astype("u4"), "edges": mesh.edges.astype("u4")}
    return _bytes(packed(head, arrays))


@router.get("/parts/{address}/work/clamping-{number}.svg")
def drawing(request: Request, address: str, number: int) -> Response:
    """The operator's view of a clamping as it was drawn with the plan."""
    place = desk_of(request).home.place(address)
    path = place.folder / f"clamping-{number}.svg"
    if not path.is_file():
        raise BadInput("There is no drawing of this clamping", value=str(number), do="plan the part again")
    return Response(path.read_bytes(), media_type="image/svg+xml")


@router.get("/parts/{address}/work/face")
def face(request: Request, address: str) -> Response:
    """What the plan says of one face."""
    shown = shown_of(request, address)
    told = told_of_face(shown.plan, shown.shop, request.query_params.get("id", ""))
    said = _said(request, address)
    return _json({"lines": [{"word": one.word, "said": said(one.said)} for one in told]})


@router.get("/parts/{address}/work/distance")
def distance(request: Request, address: str) -> Response:
    """How far two faces are apart."""
    shown = shown_of(request, address)
    asked = [request.query_params.get(word, "") for word in ("one", "other")]
    solid = shown.solid()
    lacking = [id for id in asked if id not in {one.id for one in solid.faces}]
    if lacking:
        raise BadInput("The part has no such face", value=lacking[0], do="choose one of the list")
    found = measured(solid, *asked)
    return _json({"said": said_of_distance(found, in_inches=reads_inches(request)), "measured": found})


def said_of_distance(found: Measured, *, in_inches: bool) -> str:
    """A distance in words."""
    from proveout.sheets.ink import printed

    size = f"{found.distance_mm / MM_PER_INCH:.4f} in" if in_inches else f"{found.distance_mm:.3f} mm"
    turned = "" if found.angle_rad is None else f"; angle {printed(found.angle_rad, unit='°', digits=3)}°"
    return f"{size}, {found.words}, of the finished part as drawn{turned}"


def _said(request: Request, address: str) -> Callable[[str], str]:
    """What puts words into the lengths that the reader reads."""
    return in_inches_of([desk_of(request).home.place(address)]).said if reads_inches(request) else str


def _steps(shown: Shown, order: list[int], index: int) -> dict[str, int | None]:
    """Numbers of the passes that the buttons lead to; None where there is none."""
    at = order.index(index) if index in order else -1
    cutter = shown.plan.passes[index].cutter_id if index in order else None
    other = next((n for n in order[at + 1 :] if shown.plan.passes[n].cutter_id != cutter), None)
    return {
        "previous": order[at - 1] + 1 if at > 0 else None,
        "next": order[at + 1] + 1 if at + 1 < len(order) else None,
        "cutter": None if other is None else other + 1,
        "weakest": None if shown.weakest is None else shown.weakest.index + 1,
    }  # fmt: skip


def _pass_of(request: Request, shown: Shown) -> int:
    """The pass that is asked for, counted from 1; the first where none is named, 0 for the blank."""
    given = request.query_params.get("pass", "1")
    most = len(shown.plan.passes)
    if not given.isascii() or not given.isdigit() or int(given) > most:
        raise BadInput("The plan has no such pass", where="pass", value=given, limit=f"0 to {most}", do="name another")
    return int(given)


def _share_of(request: Request) -> float:
    given = request.query_params.get("share", "1")
    try:
        share = float(given)
    except ValueError:
        share = -1.0
    if not 0.0 <= share <= 1.0:
        raise BadInput("A share of a pass is a number from 0 to 1", where="share", value=given, do="name another")
    return share


def _json(told: Any) -> Response:
    return Response(msgspec.json.encode(told), media_type="application/json")


def _bytes(whole: bytes) -> Response:
    return Response(whole, media_type="application/octet-stream")
