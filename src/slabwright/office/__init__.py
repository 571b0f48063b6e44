"""The office: jobs, people and paper in the browser. It calls the engine; nothing in the engine knows of it.

Importing this package starts nothing: Django is set up by `running` (the command line), by `wsgi` (the
server) or by the tests.
"""
