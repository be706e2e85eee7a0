"""The truth table: every kind of figure the tool prints, beside what outside checks found it to be off by.

A check is a function that yields pairs (what we say, what the source says); `checks` registers it and makes a test of it.
`figures` lists the kinds and which keys of the commands' JSON they stand for; `table` writes the page of the manual from
both (`python -m tests.truth`). No deviation is ever typed: each is measured by the function that stands beside its source.
"""
