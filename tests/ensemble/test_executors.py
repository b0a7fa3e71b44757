"""Threads over tasks."""

import sys
import threading
import time

import numpy as np
import pytest

from sim.ensemble.executors import in_threads


def tasks(n):
    return ((i, 0) for i in range(n))


def test_in_threads__every_task_once_and_workers_at_a_time():
    at_once = []
    busy = set()
    lock = threading.Lock()

    def work(task):
        with lock:
            busy.add(task)
            at_once.append(len(busy))
        time.sleep(0.002)
        with lock:
            busy.discard(task)
        return np.array([task[0]])

    found = [(task, int(block[0])) for task, block in in_threads(3)(work, tasks(40))]
    assert sorted(found) == [((i, 0), i) for i in range(40)]
    assert max(at_once) == 3


def test_in_threads__takes_tasks_as_it_needs_them():
    taken = []

    def counted():
        for task in tasks(10_000):
            taken.append(task)
            yield task

    results = in_threads(2)(lambda task: np.array(task), counted())
    for _ in range(5):
        next(results)
    results.close()
    assert len(taken) <= 5 + 3 * 2 * 2


def test_in_threads__a_failure_stops_the_rest():
    started = []

    def work(task):
        started.append(task)
        if task[0] == 3:
            raise ValueError("no")
        return np.zeros(1)

    with pytest.raises(ValueError, match="no"):
        list(in_threads(2)(work, tasks(1000)))
    assert len(started) < 20


def test_in_threads__gives_the_interpreter_its_habits_back():
    before = sys.getswitchinterval()
    seen = []

    def work(task):
        seen.append(sys.getswitchinterval())
        if task[0] == 3:
            raise ValueError("this one fails")
        return np.array([task[0]])

    results = in_threads(2)(work, tasks(8))
    with pytest.raises(ValueError, match="this one fails"):
        list(results)
    assert min(seen) < before
    assert sys.getswitchinterval() == before
    stopped = in_threads(2)(work, tasks(3))
    next(stopped)
    stopped.close()
    assert sys.getswitchinterval() == before
