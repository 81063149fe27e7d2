"""The work on many machines: a Dask cluster as an executor like any other.

Needs `pip install 'profilegen[cluster]'`, here and on every worker. Workers read and write
no files: each task brings the lifter's data and takes the pages back. A worker that dies is
replaced and its lifters are done again elsewhere. What is sent is personal and is unpacked
with pickle, so the cluster must be your own; the one started here is for this machine alone
and encrypted, so that nobody else on it can listen or join in.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Executor, Future
from contextlib import ExitStack, contextmanager
from functools import cache
from typing import TYPE_CHECKING, TypeVar

from profilegen.build.jobs import processors
from profilegen.build.manifest import sha256_of_parts, sha256_of_tree
from profilegen.build.program import program_sha256
from profilegen.errors import OutputError
from profilegen.render import default_templates_dir

if TYPE_CHECKING:
    from distributed import Client

LOCAL = "local"
"""Instead of an address: a cluster of this machine's own processors, for this build only."""

PATIENCE_S = 15
"""For the first answer of a cluster."""

Answer = TypeVar("Answer")


class ClusterExecutor(Executor):
    """Hands tasks to a cluster; each worker first makes sure that it is the same program."""

    def __init__(self, client: Client) -> None:
        self._client = client
        self._executor = client.get_executor(pure=False)
        self._program = same_program()

    @property
    def workers(self) -> int:
        """How many tasks the cluster does at once, as of now."""
        threads: dict[str, int] = self._client.nthreads()
        return max(1, sum(threads.values()))

    def submit(
        self, fn: Callable[..., Answer], /, *args: object, **kwargs: object
    ) -> Future[Answer]:
        """A task for whichever worker is free."""
        future: Future[Answer] = self._executor.submit(run_here, self._program, fn, *args, **kwargs)
        return future


@contextmanager
def cluster_executor(address: str, jobs: int | None = None) -> Iterator[ClusterExecutor]:
    """Work together with the cluster at an address, or with one of our own.

    Args:
        address: of a Dask scheduler, as tcp://host:8786; or `local`.
        jobs: workers of a local cluster; one per processor when left out.

    Raises:
        OutputError: the extra is not installed, nobody answers, or the cluster gave up.
    """
    try:
        from distributed import Client, KilledWorker, LocalCluster
    except ImportError as error:
        raise OutputError(
            f"--cluster needs one more package: pip install 'profilegen[cluster]' ({error})"
        ) from error
    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # what matters is raised
    with ExitStack() as stack:
        target: object = address
        try:
            if address == LOCAL:
                target = stack.enter_context(
                    LocalCluster(
                        n_workers=jobs or processors(),
                        threads_per_worker=1,
                        dashboard_address=None,
                        memory_limit=0,  # never writes lifters to disk to save memory
                        security=True,
                        silence_logs=logging.CRITICAL,
                    )
                )
            client = stack.enter_context(Client(target, timeout=PATIENCE_S, set_as_default=False))
            client.wait_for_workers(1, timeout=PATIENCE_S)
        except (OSError, TimeoutError, ValueError) as error:
            reason = str(error) or "no answer"
            raise OutputError(f"--cluster {address}: cannot work with it: {reason}") from error
        try:
            yield ClusterExecutor(client)
        except (KilledWorker, CancelledError) as error:
            raise OutputError(
                f"--cluster {address}: was lost, or several workers in a row died at the same "
                f"lifters; nothing was written ({error})"
            ) from error


def run_here(program: str, fn: Callable[..., Answer], *args: object) -> Answer:
    """Runs in a worker of the cluster. OutputError when it would make other pages."""
    if same_program() != program:
        raise OutputError(
            "--cluster: a worker has another version of profilegen, or of a library it "
            "computes with; install the same everywhere"
        )
    return fn(*args)


@cache
def same_program() -> str:
    """Hash of all that decides what a page says beside the squad: code, norms, libraries,
    templates."""
    return sha256_of_parts([program_sha256(), sha256_of_tree(default_templates_dir())])
