"""The JSON API: everything the pages can do, for programs. Same operations, same numbers, same words when refused."""
