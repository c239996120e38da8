"""Timing that the references of bench/sizes have in common."""
import time

import numpy as np


def median(action, span=0.3):
    """Median of repeated runs over a span of seconds, after one to warm up."""
    action()
    times = []
    end = time.perf_counter() + span
    while time.perf_counter() < end or len(times) < 5:
        begin = time.perf_counter()
        action()
        times.append(time.perf_counter() - begin)
    return float(np.median(times))
