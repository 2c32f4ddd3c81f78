"""An address as a QR code (ISO/IEC 18004), drawn by us from the modules that segno works out."""

QUIET = 4  # modules of margin all round, as the standard asks


def qr_modules(address: str) -> tuple[tuple[bool, ...], ...]:
    """The modules of the code, row by row, dark ones true, without the quiet zone."""
    import segno

    code = segno.make(address, error="m", micro=False)
    return tuple(tuple(bool(module) for module in row) for row in code.matrix)


def qr_svg(address: str, words: str) -> str:
    """The code as SVG, in modules, dark on light with its quiet zone; `words` say what it leads to."""
    modules = qr_modules(address)
    size = len(modules) + 2 * QUIET
    dark = "".join(
        f"M{x + QUIET} {y + QUIET}h1v1h-1z" for y, row in enumerate(modules) for x, is_dark in enumerate(row) if is_dark
    )
    said = words.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="qr" viewBox="0 0 {size} {size}" width="{size * 3}" '
        f'height="{size * 3}" role="img" shape-rendering="crispEdges"><title>{said}</title>'
        f'<path d="M0 0h{size}v{size}H0z" fill="#fff"/><path class="qr-modules" d="{dark}" fill="#000"/></svg>'
    )
