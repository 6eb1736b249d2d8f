"""gunicorn's log of who asked for what, without the secrets that stand in addresses and without what was searched."""

from gunicorn.glogging import Logger

from shop.log import without_secrets


class AccessLogger(Logger):
    def atoms(self, resp, req, environ, request_time):
        atoms = super().atoms(resp, req, environ, request_time)
        atoms["q"] = "…" if atoms.get("q") else ""
        return {name: without_secrets(value) if isinstance(value, str) else value for name, value in atoms.items()}
