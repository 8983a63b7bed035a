"""The saved record: body, seal, chain, verification, draft."""
