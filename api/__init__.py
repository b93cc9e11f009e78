"""The web face of the advisor: JSON over HTTP and the page at the bench.

A request is answered by one core: a second thread for linear algebra only waits for the first, so the
libraries are told before they load, unless the environment says otherwise.
"""

import os

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
