"""What workers do in tests; a module that a new process can import."""

import os
import signal
from pathlib import Path

from simstore.errors import SimstoreError


def named(scenario, plan, replication):
    return plan, replication, scenario.settings.seed


def with_pid(scenario, plan, replication):
    return os.getpid()


def dies_once(scenario, plan, replication):
    """Kill this worker the first time that replication 1 comes up."""
    mark = Path(os.environ["SIMSTORE_TEST_MARK"])
    with (mark.parent / "starts").open("a") as log:
        log.write(f"{plan} {replication}\n")
    if replication == 1 and not mark.exists():
        mark.write_text("")
        os.kill(os.getpid(), signal.SIGKILL)
    return plan, replication


def dies_always(scenario, plan, replication):
    os.kill(os.getpid(), signal.SIGKILL)


def refuses(scenario, plan, replication):
    msg = f"{plan} cannot run"
    raise SimstoreError(msg)
