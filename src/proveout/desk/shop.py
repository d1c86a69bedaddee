"""The shop's pages: what its file means and lacks, each item as a form, cutters and changers drawn, a first file."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from proveout.desk.page import desk_of, page
from proveout.desk.typed_form import DIGEST, TypedForm
from proveout.jobs.drafting import draft_of_answers, shop_questions
from proveout.jobs.finisher_told import finisher_lines, finisher_told
from proveout.jobs.owner_file import ChangedMeanwhile, Shown, put_back, replace_text, show
from proveout.jobs.shop_edit import (
    Item,
    item_form,
    kinds,
    own_word_meanings,
    read_as_shop,
    remove_item,
    save_item,
)
from proveout.jobs.shop_words import ShopWords, shop_words, unknown_of
from proveout.model.shop import Shop
from proveout.quantities.errors import BadInput, ProveoutError
from proveout.sheets.cutter_picture import changer_svg, crib_svg, cutter_svg

router = APIRouter()
SEE_OTHER, BAD = 303, 400
CUTTERS, MACHINES = "crib.cutter", "machine"


@router.get("/shop")
def shop(request: Request) -> HTMLResponse:
    """What the shop file holds, or the ten questions where there is none."""
    shown = show(desk_of(request).home.shop_path)
    if not shown.digest:
        return _questions(request, shown, {}, None)
    found = kinds(shown.text, file=shown.path.name)
    try:
        read, fault = read_as_shop(shown.path, shown.text), None
    except BadInput as refused:
        read, fault = None, refused
    words = shop_words(read) if read is not None else ShopWords((), (), ())
    return page(
        request, "shop.html", title="Shop", shown=shown, kinds=found, words=words, fault=fault,
        changers=_changers(read), crib="" if read is None else crib_svg(read.cutters, ids="crib"),
    )  # fmt: skip


@router.post("/shop/new")
def write_first(request: Request, typed: TypedForm) -> Response:
    """A shop file from ten answers."""
    shown = show(desk_of(request).home.shop_path)
    answers = {question.id: typed.get(question.id, "") for question in shop_questions()}
    try:
        text = draft_of_answers(answers)
        replace_text(shown.path, text, shown_digest="", check=lambda new: read_as_shop(shown.path, new))
    except BadInput as fault:
        return _questions(request, shown, answers, fault)
    return RedirectResponse("/shop", SEE_OTHER)


@router.post("/shop/undo")
def undo(request: Request, typed: TypedForm) -> Response:
    """The text before the last change made here."""
    path = desk_of(request).home.shop_path
    put_back(path, shown_digest=typed.get(DIGEST, ""), check=lambda new: read_as_shop(path, new))
    return RedirectResponse("/shop", SEE_OTHER)


@router.get("/shop/{kind}/new")
def new_item(request: Request, kind: str, like: int | None = None) -> HTMLResponse:
    """The form of a new item, empty or begun as another.   like: that one's number, from 1."""
    shown = show(desk_of(request).home.shop_path)
    item = item_form(shown.text, file=shown.path.name, kind=kind, place=None, like=None if like is None else like - 1)
    return _form(request, shown, item)


@router.get("/shop/{kind}/{number}")
def item(request: Request, kind: str, number: int) -> HTMLResponse:
    """The form of an item by its number from 1; of what there is only one of, 1."""
    shown = show(desk_of(request).home.shop_path)
    return _form(request, shown, item_form(shown.text, file=shown.path.name, kind=kind, place=number - 1))


@router.post("/shop/{kind}/new")
def add(request: Request, kind: str, typed: TypedForm) -> Response:
    """Add an item."""
    shown = show(desk_of(request).home.shop_path)
    return _saved(request, shown, item_form(shown.text, file=shown.path.name, kind=kind, place=None), typed)


@router.post("/shop/{kind}/{number}")
def save(request: Request, kind: str, number: int, typed: TypedForm) -> Response:
    """Change an item."""
    shown = show(desk_of(request).home.shop_path)
    return _saved(request, shown, item_form(shown.text, file=shown.path.name, kind=kind, place=number - 1), typed)


@router.post("/shop/{kind}/{number}/remove")
def remove(request: Request, kind: str, number: int, typed: TypedForm) -> Response:
    """Take an item out of the file."""
    shown = show(desk_of(request).home.shop_path)
    try:
        remove_item(shown, kind=kind, place=number - 1, shown_digest=typed.get(DIGEST, ""))
    except BadInput as fault:
        form = item_form(shown.text, file=shown.path.name, kind=kind, place=number - 1)
        return _form(request, shown, form, fault=fault)
    return RedirectResponse(f"/shop#{kind}", SEE_OTHER)


def _saved(request: Request, shown: Shown, form: Item, typed: TypedForm) -> Response:
    refused = save_item(shown, form, typed, shown_digest=typed.get(DIGEST, ""))
    if refused is not None:
        return _form(request, shown, refused)
    return RedirectResponse(f"/shop#{form.kind}", SEE_OTHER)


def _form(request: Request, shown: Shown, form: Item, *, fault: BadInput | None = None) -> HTMLResponse:
    fault = fault or form.fault
    try:
        read = read_as_shop(shown.path, shown.text)
    except BadInput:
        read = None
    number = None if form.place is None else form.place + 1
    action = f"/shop/{form.kind}/{'new' if form.is_list and number is None else number or 1}"
    return page(
        request, "shop_item.html", title=f"{form.title} - Shop", shown=shown, item=form, fault=fault, action=action,
        number=number, picture=_picture(read, form), meanings=own_word_meanings(),
        at=next((f"at-{field.name}" for field in form.fields if field.fault), ""),
        stale=isinstance(fault, ChangedMeanwhile),
        told=_told(request, read, form),
        unknown=() if read is None or number is None else unknown_of(read, kind=form.kind, place=number - 1),
        status=BAD if fault is not None else 200,
    )  # fmt: skip


def _told(request: Request, read: Shop | None, form: Item) -> list[str]:
    """What the records tell of a finisher; nothing of anything else."""
    if read is None or form.kind != "finisher" or form.place is None or not form.place < len(read.finishers):
        return []
    try:
        return finisher_lines(finisher_told(desk_of(request).records, read.finishers[form.place], read))
    except ProveoutError as fault:  # the file can be changed all the same
        return [f"not shown: {fault.message}"]


def _questions(request: Request, shown: Shown, answers: dict[str, str], fault: BadInput | None) -> HTMLResponse:
    named = next((one.id for one in shop_questions() if fault is not None and fault.where == f"question {one.id}"), "")
    return page(
        request, "shop_new.html", title="Shop", shown=shown, questions=shop_questions(), answers=answers, fault=fault,
        named=named, status=BAD if fault is not None else 200,
    )  # fmt: skip


def _picture(read: Shop | None, form: Item) -> str:
    if read is None or form.place is None:
        return ""
    if form.kind == CUTTERS and form.place < len(read.cutters):
        return cutter_svg(read.cutters[form.place], is_inch=read.units == "inch", ids="cutter")
    if form.kind == MACHINES and form.place < len(read.machines):
        return _changer(read, form.place)
    return ""


def _changers(read: Shop | None) -> Sequence[tuple[str, str]]:
    """Each machine whose changer holds cutters for good, with its places drawn."""
    if read is None:
        return ()
    drawn = [(machine.id, _changer(read, place)) for place, machine in enumerate(read.machines)]
    return [(id, picture) for id, picture in drawn if picture]


def _changer(read: Shop, place: int) -> str:
    machine = read.machines[place]
    return changer_svg(machine.changer, cutters=read.cutters, ids=f"c{place}") if any(machine.changer) else ""
