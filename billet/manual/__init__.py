"""The manual: pages in Markdown, and the reference made of the models they describe."""
