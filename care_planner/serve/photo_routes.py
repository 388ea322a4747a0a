"""Photographs: sent from a page, made small, kept beside the journal with a note, and shown."""

from dataclasses import replace
from functools import lru_cache
from hashlib import sha256
from threading import BoundedSemaphore, Lock
from typing import Any

from flask import Flask, Response, abort, redirect, request, url_for

from care_planner.folder.photographs import PHOTOS_FOLDER, photo_name
from care_planner.folder.read_photo import read_photo
from care_planner.note.ground import NoteGround
from care_planner.serve.answers import busy
from care_planner.serve.asking import shown_trees, state_of
from care_planner.serve.branch_form import is_tag
from care_planner.serve.forms import is_same_origin, read_form_token
from care_planner.serve.note_parts import NoteForm, NotePart, Wrong, entry_id, key_of, one_of
from care_planner.serve.notebook import TOO_MANY, FormOutcome, Sender
from care_planner.serve.photo import SMALL_SIDE, CannotRead, small_photo
from care_planner.serve.service import Link, Service, linked
from care_planner.serve.write_photo import drop_photo, has_room, write_photo

PHOTO_OCTETS = 12 * 1024 * 1024
# Threads that may be at a photograph at once: the others are for notes, pages and feeds. Starting value.
SENT_AT_ONCE = 4
PHOTO_AGE_S = 30 * 86_400
SMALL_KEPT = 64  # with the pictures they were made from, some 20 MB
NO_ROOM = Wrong("There is no room for more photographs. Take some away from the folder of photographs.")
OLD_PAGE = Wrong("This page was open for more than a day. Choose the picture again.")
NO_PICTURE = Wrong("No picture was chosen. Choose one first.")


def add_photos(app: Flask, service: Service) -> None:
    one_at_a_time = Lock()  # a picture decoded takes much memory
    sent_at_once = BoundedSemaphore(SENT_AT_ONCE)

    @app.post("/g/<secret>/photos")
    @linked(service)
    def photos(link: Link) -> Any:
        if not link.share.may_note or not link.share.scope.opens_trees:
            abort(404)
        headers = request.headers
        if not is_same_origin(request.host, headers.get("Origin"), headers.get("Sec-Fetch-Site")):
            abort(403)
        if not sent_at_once.acquire(blocking=False):
            return busy()
        try:
            return sent(link)
        finally:
            sent_at_once.release()

    def sent(link: Link) -> Any:
        request.max_content_length = PHOTO_OCTETS
        fields = {name: values for name, values in request.form.lists() if name != "form"}
        tree = one_of(fields, "tree")
        if link.view.inputs is None or tree not in shown_trees(link.view, link.share.scope):
            abort(404)
        file = request.files.get("photo")
        data = file.read() if file is not None else b""
        nonce = read_form_token(link.secret, request.form.get("form", ""), link.today.toordinal())
        key = key_of(f"{nonce} {sha256(data).hexdigest()}", fields)
        with one_at_a_time:
            outcome = _kept(service, link, fields, data, key, OLD_PAGE if nonce is None else None)
        if outcome.fault:
            return busy()
        if outcome.too_many:
            abort(429)
        place = one_of(fields, "place")
        anchor = place if is_tag(place) else None
        return redirect(url_for("tree", secret=link.secret, tree=tree, noted=key, _anchor=anchor), 303)

    @app.get("/g/<secret>/photos/<name>")
    @linked(service)
    def photo(link: Link, name: str) -> Response:
        state = state_of(replace(link.asking, fresh=service.notebook.fresh()))
        known = state is not None and any(
            entry.branch is not None and entry.tree in state.trees and photo_name(entry.branch.photo) == name
            for entry in state.entries
        )
        data = read_photo(service.folder, name) if known and link.share.scope.opens_trees else None
        if data is None:
            return abort(404)
        if "small" in request.args:
            with one_at_a_time:
                data = _smaller(data)
        answer = Response(data, mimetype="image/jpeg")
        answer.headers["Cache-Control"] = f"private, max-age={PHOTO_AGE_S}"
        return answer


@lru_cache(maxsize=SMALL_KEPT)
def _smaller(data: bytes) -> bytes:
    """For the page itself; a file that somebody put in its place, and that cannot be read, as it is."""
    try:
        return small_photo(data, side=SMALL_SIDE)
    except CannotRead:
        return data


def _kept(
    service: Service, link: Link, fields: dict[str, list[str]], data: bytes, key: str, refused: Wrong | None
) -> FormOutcome:
    """Keep a picture and note it, or say why not; nothing is left on the disk of what was not noted."""
    tree, branch = one_of(fields, "tree"), one_of(fields, "branch")
    sender = Sender(link.share.digest, link.share.name)
    known = service.notebook.outcome(sender.link, key)
    if known is not None:
        return known
    name = f"{link.today}-{tree}{f'-{branch}' if branch else ''}-{entry_id({}, key)}.jpg"
    form: NoteForm | Wrong | None = refused
    if form is None and not data:
        form = NO_PICTURE
    if form is None and not service.notebook.would_take(sender.link):
        form = TOO_MANY
    if form is None and not has_room(service.folder):
        form = NO_ROOM
    if form is None and branch and not is_tag(branch):
        form = Wrong("A tag is a name of a-z, 0-9 and hyphens.")
    if form is None:
        try:
            write_photo(service.folder, name, small_photo(data, one_of(fields, "keep_place") == "yes"))
        except CannotRead as why:
            form = Wrong(str(why))
        else:
            part = NotePart(
                (f"{tree}/{branch}" if branch else tree,),
                f"photo {PHOTOS_FOLDER}/{name}",
                f"{branch or 'whole tree'}: a photograph",
                entry_id({}, key),
            )
            form = NoteForm((part,), link.today, False)
    inputs = link.view.inputs
    assert inputs is not None
    ground = NoteGround(inputs.collection, inputs.rulebook)
    outcome = service.notebook.take(sender, key, form, ground, link.today)
    if not isinstance(form, Wrong) and not outcome.entries and not outcome.known:
        drop_photo(service.folder, name)
    return outcome
