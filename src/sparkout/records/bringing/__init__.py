"""Tables into the records: what each row would do, told beforehand and done the same way, once however often."""
