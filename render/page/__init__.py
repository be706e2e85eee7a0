"""The page: a knife designed, watched and worked on in the browser, served from this machine alone."""
