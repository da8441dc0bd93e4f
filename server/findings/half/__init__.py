"""The energy at which half get through, head by head and sort by sort of panel."""
