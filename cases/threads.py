"""One thread for the linear algebra, unless more are asked for.

Its pieces are small here: threads of several libraries mostly wait for each other, the more so on a
busy machine.
"""

import os


def one_thread() -> None:
    """Keep libraries that aren't loaded yet from starting threads of their own."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
