"""The same examples on every run: a check that fails, fails again.

And interrupts as in a terminal: a shell starts what it puts into the background with interrupts
ignored, and what is started from there would ignore them too.
"""

import signal

from hypothesis import settings
from whole import some_of

settings.register_profile("same", derandomize=True, deadline=None, max_examples=some_of(100))
settings.load_profile("same")

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
