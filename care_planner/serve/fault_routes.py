"""What is answered where a request is wrong or something here fails: never a trace, never a secret."""

import logging
import traceback
from typing import Any

from flask import Flask, Response, redirect, render_template, request
from werkzeug.exceptions import HTTPException

from care_planner.calendar.faults import CannotWrite
from care_planner.serve.answers import busy
from care_planner.serve.conditional import forget_unreadable
from care_planner.serve.faults import FAULTS
from care_planner.serve.service import Service
from care_planner.serve.subscribe import is_host

log = logging.getLogger(__name__)


def add_faults(app: Flask, service: Service) -> None:
    @app.before_request
    def only_for_a_host() -> Response | None:
        forget_unreadable(request.environ)
        if not is_host(request.host):  # without a host no page can be made, for it has addresses
            return Response("This is no address.\n", 400, mimetype="text/plain")
        return None

    @app.errorhandler(HTTPException)
    def told(fault: HTTPException) -> Any:
        code = fault.code or 500
        if code < 400:  # a redirect of the routing's own
            return redirect(fault.get_response().headers["Location"], code)
        if code == 404:
            service.be_slow()
        response = Response(render_template("fault.html", **FAULTS.get(code, FAULTS[400])), code)
        if code == 405:
            response.headers["Allow"] = ", ".join(sorted(getattr(fault, "valid_methods", None) or ()))
        elif code == 429:
            response.headers["Retry-After"] = "60"
        return response

    @app.errorhandler(CannotWrite)
    @app.errorhandler(OSError)
    @app.errorhandler(MemoryError)
    def fault_of_the_machine(fault: Exception) -> Response:
        log.warning("%s: %s", request.endpoint, fault)
        return busy()

    @app.errorhandler(Exception)
    def fault_of_ours(fault: Exception) -> Response:
        # Not the request's path: it holds the secret.
        log.error("%s\n%s", request.endpoint, "".join(traceback.format_exception(fault)))
        return Response(render_template("fault.html", **FAULTS[500]), 500)
