"""Windows of cores off the pin axis: searched slice by slice, not proven."""
