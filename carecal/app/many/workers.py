"""Jobs spread over processes by dask.distributed: a cluster of this machine, or one that runs already.

A worker that dies is replaced and its collections are given to others; how the work is spread changes nothing of what
comes of it, because each collection is worked on by itself.
"""

from __future__ import annotations

import logging
import os
from contextlib import contextmanager
from itertools import islice
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from carecal.app.many.jobs import JobResult, failed, run_job
from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from carecal.app.many.jobs import Job

__all__ = ["run_jobs"]

UNDER_WAY = (
    8  # collections given out for each worker; our choice, because the next must lie there when one is done
)
RETRIES = 2  # our choice, because what kills two workers kills the third, too
WAIT_S = 30  # for a cluster that runs already
_NO_PAGES: dict[str, list[str]] = {
    "distributed.scheduler.http.routes": [],
    "distributed.worker.http.routes": [],
}


def run_jobs(
    root: str, names: Iterable[str], job: Job, *, workers: int | None = None, scheduler: str = ""
) -> Iterator[JobResult]:
    """Yield what came of a job for each collection, in the order in which they are done.

    Args:
        root: Folder of the tree, as the workers see it.
        names: The collections' paths from there.
        job: What is to be done with each.
        workers: Processes on this machine; None: one for each of its cores.
        scheduler: Address of a cluster that runs already; '' for one of this machine, which ends with the work.

    Raises:
        Refused: dask.distributed is not installed, or the cluster does not answer.
    """
    rest = iter(names)
    with _client(workers, scheduler) as client:
        from distributed import as_completed  # noqa: PLC0415 - an extra, loaded where it is needed alone

        run = uuid4().hex
        spread = max(1, len(client.scheduler_info()["workers"])) * UNDER_WAY
        names_of: dict[str, str] = {}

        def give(name: str) -> Any:
            key = f"{job.kind}-{run}-{name}"
            future = client.submit(run_job, root, name, job, key=key, retries=RETRIES, pure=False)
            names_of[future.key] = name
            return future

        waiting = as_completed([give(name) for name in islice(rest, spread)])
        for future in waiting:
            yield _result(future, names_of.pop(future.key))
            future.release()
            following = next(rest, None)
            if following is not None:
                waiting.add(give(following))


def _result(future: Any, name: str) -> JobResult:
    """Return what came of a job; a result whose worker died before it was fetched is worked out once more."""
    try:
        found = future.result()
    except Exception as error:  # noqa: BLE001 - whatever kills workers is told and stops none of the others
        return failed(name, f"its workers died of it: {type(error).__name__}")
    return found if isinstance(found, JobResult) else failed(name, "its worker answered with something else")


@contextmanager
def _client(workers: int | None, scheduler: str) -> Iterator[Any]:
    """Give the hand on a cluster; one of this machine listens to itself alone, and only to who holds its key."""
    try:
        import dask  # noqa: PLC0415 - an extra
        from distributed import Client, LocalCluster  # noqa: PLC0415 - an extra
        from distributed.security import Security  # noqa: PLC0415 - an extra
    except ImportError as error:
        raise Refused(
            "many collections need the extra 'many'; install it: pip install 'carecal[many]'"
        ) from error
    if scheduler:
        try:
            client = Client(scheduler, timeout=WAIT_S)
        except (OSError, ValueError, TimeoutError) as error:
            raise Refused(
                f"no cluster answers at '{scheduler}'; allowed is the address of a scheduler"
            ) from error
        with client:
            yield client
        return
    key = Security.temporary()
    with TemporaryDirectory(prefix="carecal-many-") as folder, dask.config.set(_NO_PAGES):
        cluster = LocalCluster(
            n_workers=workers or os.cpu_count() or 1,
            threads_per_worker=1,
            processes=True,
            protocol="tls",
            security=key,
            dashboard_address="127.0.0.1:0",
            scheduler_kwargs={"dashboard": False},
            local_directory=folder,
            silence_logs=logging.CRITICAL,
        )
        with cluster, Client(cluster, security=key) as client:
            yield client
