"""Before numpy is imported: one thread for its matrix library, as the command itself has it.

On a busy machine with two cores the threads wait for each other, and small products take up to twenty times as long.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
