"""The answer in words: sentences and tables ready to show, the same for terminal, card and page."""
