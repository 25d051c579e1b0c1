"""Spin grind, relief grind, knife grind, and the wheel that does them."""
