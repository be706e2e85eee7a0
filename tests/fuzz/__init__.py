"""Everything a hand can write or a disk can spoil, made by hypothesis and given to the command line.

`recipes` makes recipes that hold by construction, `things` every other kind of file and words, `mutations` spoils them,
`cases` puts them behind a command, `judge` runs a command and says what is at fault with how it ended.
"""
