"""A newcomer: billet away from its checkout, in an emptied environment, every command as a smith would type it."""
