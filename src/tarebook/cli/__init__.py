"""The command line: one module a command group. Results go to standard output, messages to standard error.

Exit status: 0 everything asked about is eligible; 1 something is not; 2 the request or a file is wrong; 3 it cannot be
decided; 70 a defect of this program.
"""


def main() -> None:
    """Run the command line and leave with its exit status."""
    import gc
    import io
    import os
    import sys

    gc.disable()  # a command lives for a moment; collecting on the way only delays the answer
    from tarebook.cli.app import run

    streams = [each for each in (sys.stdout, sys.stderr) if isinstance(each, io.TextIOWrapper)]
    for stream in streams:
        stream.reconfigure(errors="backslashreplace")  # a letter that the reader's encoding lacks stops no answer
    status = run()
    for stream in streams:
        try:
            stream.flush()
        except OSError:
            # What could not be written never will be; the interpreter must not try again on its way out.
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    sys.exit(status)
