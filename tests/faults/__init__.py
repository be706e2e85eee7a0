"""What befalls files in a forge: killed programs, full disks, read-only folders, folders that go away, clocks set back,
several people writing at once, a page's server killed in a save, a phone that drops off.

`programs` runs and kills commands, `campaigns` and `pages` are one fault each and return a `Figure`;
`python -m tests.benchmarks.faults` prints them all.
"""
