"""What holds for every page: no sideways scroll from 320 to 1366 pixels, nothing found by axe-core, nothing inline."""

from axe_playwright_python.sync_playwright import Axe

WIDTHS = (320, 390, 768, 1366)


def wrong_on(page, live_server, paths):
    """What is wrong with the pages, by address; empty where nothing is."""
    wrong = {}
    for path in paths:
        page.goto(live_server.url + path)
        wrong[path] = wrong_with(page)
    return {path: found for path, found in wrong.items() if found}


def wrong_with(page):
    """What is wrong with the page that is open: widths at which it scrolls sideways, axe's findings, what is inline."""
    found = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        if page.evaluate("document.documentElement.scrollWidth") > width:
            found.append(f"scrolls sideways at {width}")
        if width in (390, 1366):
            violations = Axe().run(page).response["violations"]
            found += [(width, one["id"], [node["html"][:160] for node in one["nodes"][:3]]) for one in violations]
    return found + page.evaluate(
        "() => [...document.querySelectorAll('[style], style, script:not([src]), [onclick], [onchange]')]"
        ".map(element => element.outerHTML.slice(0, 120))"
    )
