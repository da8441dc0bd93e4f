"""Make the README's pictures from the invented demo: run `.venv/bin/python tests/make_pictures.py`.

A real server on a fresh demo book, real Chromium; nothing is drawn by hand.
"""

import shutil
import sys
import tempfile
import threading
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))
FOLDER = ROOT / "static" / "guide"


def main() -> None:
    import uvicorn
    from playwright.sync_api import sync_playwright

    from seed_demo import fill
    from server.access.sessions import COOKIE, hash_of, named, new_token
    from server.app import create_app
    from server.opening import open_book
    from server.records import devices
    from server.settings import Settings

    folder, port = Path(tempfile.mkdtemp()), 8951
    storage = open_book(folder)
    fill(storage)
    token = new_token()
    with storage.write() as session:
        devices.add_device(session, call_name="Tallow", role="archer", session_hash=hash_of(token))
    app = create_app(storage, Settings(folder, host="127.0.0.1", port=port, demo=True))
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=port, log_level="warning"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.05)
    here = f"http://127.0.0.1:{port}"
    FOLDER.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for name, path, width, height in (
            ("phone-line", "/range", 360, 740),
            ("results", "/results", 1100, 1150),
        ):
            context = browser.new_context(viewport={"width": width, "height": height}, device_scale_factor=1)
            context.add_cookies([{"name": named(COOKIE, here), "value": token, "url": here}])
            page = context.new_page()
            page.goto(here + path)
            page.wait_for_timeout(2500)
            page.screenshot(path=FOLDER / f"{name}.png")
            context.close()
        browser.close()
    app.state.doorbell.close()
    server.should_exit = True
    thread.join(10)


if __name__ == "__main__":
    main()
