"""Sign in to a running demo, open the rota of its trip and save a picture: ADDRESS NAME PASSWORD FILE."""

import os
import shutil
import sys

from playwright.sync_api import sync_playwright


def main(address: str, name: str, password: str, file: str) -> None:
    with sync_playwright() as playwright:
        options = ["--no-sandbox"] if os.geteuid() == 0 else []
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=options)
        page = browser.new_page(viewport={"width": 1280, "height": 1500}, color_scheme="light")
        page.goto(f"{address}/sign-in/")
        page.fill("[name=username]", name)
        page.fill("[name=password]", password)
        page.click("main button[type=submit]")
        page.wait_for_load_state()
        page.click("main a[href*='/trips/']:has-text('Five hides')")
        page.click(".tabs a:has-text('Rota')")
        page.wait_for_load_state("networkidle")
        page.screenshot(path=file)
        browser.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
