"""The command line: one module a command group. Results go to standard output, messages to standard error.

Exit status: 0 everything asked about is eligible; 1 something is not; 2 the request or a file is wrong; 3 it cannot be
decided; 70 a defect of this program.
"""


def main() -> None:
    """Run the command line and leave with its exit status."""
    import gc
    import sys

    gc.disable()  # a command lives for a moment; collecting on the way only delays the answer
    from tarebook.cli.app import run

    sys.exit(run())
