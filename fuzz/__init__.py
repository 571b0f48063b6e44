"""Readers asked with files that nobody should send: guided by coverage, one harness a reader.

    pip install atheris                       by hand; nothing else here needs it
    python -m fuzz                            lists the readers
    python -m fuzz job --minutes 5            asks one; what it stumbles over goes to out/fuzz/job/faults

A fault is any exception that is not the reader's own clear error, an answer that takes longer than
`SLOW` for a small file, memory that grows by more than `MOST_GROWTH`, a mistake that does not say what
is wrong, or an edit that loses text. Faults are kept by their place in the program, the smallest file of each.
"""
