"""The JSON API: wire models, conversion to and from the solver, problem bodies, server."""
