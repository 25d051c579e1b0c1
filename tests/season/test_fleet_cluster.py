"""The same fit on a cluster, and after one of its workers was killed at work."""

import os
import signal
import threading
import time

import numpy as np
import pytest

from sparkout.core.errors import Refusal
from sparkout.season.cluster import cluster_map
from sparkout.season.fleet_fit import fit_file

distributed = pytest.importorskip("distributed")
pa = pytest.importorskip("pyarrow")
pq = pytest.importorskip("pyarrow.parquet")
pytestmark = [pytest.mark.filterwarnings("ignore")]  # the cluster's own, about processes that were killed

PARTS = 60


def parquet(path, units=9000, per=10):
    rng = np.random.default_rng(1)
    hours = np.sort(rng.uniform(0, 900, (units, per)), axis=1)
    size = 127 + rng.normal(0, 0.3, (units, 1)) - rng.normal(0.0015, 0.0003, (units, 1)) * hours
    size += rng.normal(0, 0.05, size.shape)
    unit = np.repeat(np.char.add("U", np.arange(units).astype(str)), per)
    table = pa.table({"unit": unit, "hours": hours.ravel(), "diameter (mm)": size.ravel()})
    pq.write_table(table, path, row_group_size=units * per // PARTS)
    return path


def test_a_killed_worker_changes_nothing(tmp_path):
    path = parquet(tmp_path / "fleet.parquet")
    alone = fit_file(path, 20_782)
    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    )
    with cluster, cluster_map(cluster.scheduler_address) as (mapper, workers):
        assert workers == 2
        found, trouble = [], []

        def fitted():
            try:
                found.append(fit_file(path, 20_782, parts=PARTS, mapper=mapper))
            except BaseException as why:
                trouble.append(why)

        work = threading.Thread(target=fitted)
        work.start()
        victim = next(iter(cluster.workers.values()))
        scheduler = cluster.scheduler
        while not any(state.processing and state.has_what for state in scheduler.workers.values()):
            assert work.is_alive(), trouble
            time.sleep(0.002)
        at_work = sum(len(state.processing) for state in scheduler.workers.values())
        os.kill(victim.process.pid, signal.SIGKILL)  # one this test started
        work.join(90)
        assert not work.is_alive()
        assert not trouble
        assert at_work > 0
    (cut,) = found
    assert cut.wear.fixed == pytest.approx(alone.wear.fixed, rel=1e-10)
    assert cut.wear.fitted.level_covariances[0] == pytest.approx(alone.wear.fitted.level_covariances[0], rel=1e-10)
    assert cut.taken.units.tolist() == alone.taken.units.tolist()


def test_no_cluster_at_an_address_is_said(monkeypatch):
    monkeypatch.setattr("sparkout.season.cluster.WAIT", 1)
    with pytest.raises(Refusal, match="no cluster answers"), cluster_map("tcp://127.0.0.1:9"):
        pass
