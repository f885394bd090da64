"""One thread for the linear algebra, unless more are asked for.

Its pieces are small here: threads of several libraries mostly wait for each other, the more so on a
busy machine.
"""

import os

SETTINGS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def one_thread() -> None:
    """Keep libraries that aren't loaded yet from starting threads of their own."""
    if not any(name in os.environ for name in SETTINGS):
        os.environ.update(dict.fromkeys(SETTINGS, "1"))
