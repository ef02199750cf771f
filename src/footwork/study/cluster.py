"""Cases on a cluster: they go to a dask.distributed scheduler, whose workers have footwork too."""

from __future__ import annotations

import logging
import time
from collections.abc import Iterator, Sequence
from importlib import import_module
from typing import Any

from footwork.model.errors import UsageError
from footwork.study.case import Case, timed
from footwork.study.journal import program

PATIENCE = 6.0
"""Seconds until a scheduler that does not answer, or has no worker, is given up."""


def finished_there(cases: Sequence[Case], address: str) -> Iterator[tuple[Case, Any, float]]:
    """Cases as the workers finish them.  What a worker that is lost had in work, another begins again.

    Raises UsageError where the scheduler cannot be reached, has no worker, or one with other code than this.
    """
    try:
        distributed: Any = import_module("distributed")
    except ImportError:
        raise UsageError('a cluster needs dask.distributed: pip install "footwork[cluster]"') from None
    client = _client(distributed, address)
    try:
        _same_code(client, address)
        futures = {
            client.submit(timed, case.work, case.arguments, key=f"footwork-{case.digest}"): case
            for case in cases
        }
        for future in distributed.as_completed(list(futures), loop=client.loop):
            result, seconds = future.result()
            yield futures[future], result, seconds
    finally:
        client.close(timeout=2)


def _client(distributed: Any, address: str) -> Any:
    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # what is lost is told by us, in one line
    until = time.monotonic() + PATIENCE
    try:
        client = distributed.Client(address, timeout=PATIENCE / 2, set_as_default=False)
    except (OSError, ValueError) as fault:  # a time that ran out is an OSError too
        why = " ".join(str(fault).split())[:80] or type(fault).__name__
        raise UsageError(f"the cluster at {address} cannot be reached: {why}") from None
    except Exception:  # bytes of another protocol are read as sizes: whatever comes of that
        raise UsageError(f"what answers at {address} is no dask.distributed scheduler") from None
    try:
        client.wait_for_workers(1, timeout=max(0.5, until - time.monotonic()))
    except TimeoutError:
        client.close(timeout=1)
        raise UsageError(
            f"the cluster at {address} has no worker; start one: dask worker {address}"
        ) from None
    return client


def _same_code(client: Any, address: str) -> None:
    """Raises UsageError for workers whose footwork is not this one: their figures would not be ours."""
    try:
        theirs = client.run(program)
    except ImportError:
        raise UsageError(f"a worker of the cluster at {address} has no footwork; install it there") from None
    other = [worker for worker, digest in theirs.items() if digest != program()]
    if other:
        raise UsageError(
            f"{len(other)} of {len(theirs)} workers of the cluster at {address} have another version of "
            "footwork; install the same one there"
        )
