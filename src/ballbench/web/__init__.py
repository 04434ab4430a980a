"""Rank 8: the bench in a browser, on this machine or, when asked for, on the local network.

`app` puts it together and `serving` runs it; `safety` stands at the door; `api` has a module a topic, and `pages` the
pages. Nothing here computes: a request goes to one workflow, and what comes back is written as JSON or as a page.
"""
