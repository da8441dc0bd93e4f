"""A request's body, never read further than we take."""

from fastapi import Request


async def whole_body(request: Request, *, most: int) -> bytes | None:
    """None once it is longer than `most` bytes, whatever length it claims."""
    pieces, length = [], 0
    async for piece in request.stream():
        length += len(piece)
        if length > most:
            return None
        pieces.append(piece)
    return b"".join(pieces)
