"""From a document to releases: blocks, statements, roles, facts, assembly."""
