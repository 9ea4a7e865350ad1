"""How much the benchmarks do: full size, or a tiny one that only shows that they run."""

tiny = False


def of(full: int, small: int = 1) -> int:
    """The number for the size asked for. Asked at import, after the options have been read."""
    return small if tiny else full
