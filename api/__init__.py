"""The web face of the advisor: JSON over HTTP and the page at the bench.

A request is answered by one core: a second thread for linear algebra only waits for the first, so the
libraries are told before they load, unless the environment says otherwise.
"""

from advisor.threads import use_one_thread

use_one_thread()
