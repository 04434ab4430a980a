"""Put the server together: the pages, the interface for programs, the streams, pairing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import FastAPI

from ballbench.web.api.bench import bench_router
from ballbench.web.api.bench_aids import bench_aids_router
from ballbench.web.api.boxes import boxes_router
from ballbench.web.api.corrections import corrections_router
from ballbench.web.api.files import files_router
from ballbench.web.api.instruments import instruments_router
from ballbench.web.api.judging import judging_router
from ballbench.web.api.live import live_router
from ballbench.web.api.plans import plans_router
from ballbench.web.api.qualifications import qualifications_router
from ballbench.web.api.quick import quick_router
from ballbench.web.api.recorded import recorded_router
from ballbench.web.api.recordings import recordings_router
from ballbench.web.api.requirements import requirements_router
from ballbench.web.api.sharing import sharing_router
from ballbench.web.api.sheets import sheets_router
from ballbench.web.api.tests import tests_router
from ballbench.web.claims import Claims
from ballbench.web.decoding import Decoding
from ballbench.web.judging import Judging
from ballbench.web.live import Hub
from ballbench.web.pages import pages_router
from ballbench.web.pairing import Pairing
from ballbench.web.planning import Planning
from ballbench.web.settings import Settings
from ballbench.web.shell import shell
from ballbench.web.static_files import static_router
from ballbench.workflows.opening import name_of

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["make_app"]


def make_app(notebook: Notebook, settings: Settings) -> FastAPI:
    """Make the server of one notebook.

    Parameters
    ----------
    notebook : Notebook
        Open; the caller closes it when the server has ended.
    settings : Settings
        Names, neighbours and bounds.

    Returns
    -------
    FastAPI
        With ``state.hub``, whose streams are to be closed before the server ends, and ``state.pairing``.
    """
    pairing, claims, judging, decoding = Pairing(), Claims(), Judging(), Decoding()
    hub = Hub(notebook, claims, settings)
    planning = Planning(lambda: hub.closed)
    routers = (
        tests_router(notebook), bench_router(notebook), corrections_router(notebook), judging_router(notebook, judging),
        files_router(notebook), recordings_router(notebook), live_router(notebook, hub, claims, pairing),
        quick_router(notebook, judging), requirements_router(), instruments_router(notebook),
        boxes_router(notebook), qualifications_router(notebook, judging), plans_router(notebook, planning),
        bench_aids_router(judging), recorded_router(notebook, decoding), sharing_router(pairing, settings),
        sheets_router(notebook),
        pages_router(notebook, judging), static_router(),
    )  # fmt: skip
    app = shell(settings, pairing, routers, lambda: name_of(notebook))
    app.state.hub, app.state.pairing = hub, pairing
    return app
