"""What another bow would do: an arrow of some mass from a bow of some weight, at some distance."""
