"""The web face of the advisor: JSON over HTTP and the page at the bench.

A request is answered by one core: a second thread for linear algebra only waits for the first, so the
libraries are told before they load, unless the environment says otherwise. The threads of long work hand
the interpreter on sooner than usual, so that the loop is not kept waiting beside them.
"""

from advisor.threads import switch_soon, use_one_thread

use_one_thread()
switch_soon()
