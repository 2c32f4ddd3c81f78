"""Stopline: the commission book of a small heirloom sewing studio."""

import os

# numpy reads this once, when it is first imported. Its matrices here are small: sharing one out over several threads
# takes four times as long as working it out on one, and takes the other cores from whoever else is asking.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
