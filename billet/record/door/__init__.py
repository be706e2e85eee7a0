"""One door for text: the words of a note in, what was understood and what is said back out.

The command line, the questions at the bench and any page or telephone go through `understand`. Nothing typed is lost:
what is not understood becomes the note.
"""

from billet.record.door.say import say_back
from billet.record.door.understanding import Desk, Understood, understand

__all__ = ["Desk", "Understood", "say_back", "understand"]
