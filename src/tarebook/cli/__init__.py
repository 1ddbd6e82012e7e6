"""The command line: one module a command group. Results go to standard output, messages to standard error.

Exit status: 0 everything asked about is eligible; 1 something is not; 2 the request or a file is wrong; 3 it cannot be
decided; 70 a defect of this program.
"""

from tarebook.cli.app import main

__all__ = ["main"]
