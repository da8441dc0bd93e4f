"""The programs' interface: what pages and files show, as JSON, for whoever shows a token. See README.md."""
