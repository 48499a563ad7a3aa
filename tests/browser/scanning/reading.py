"""Reads pictures in the browser through the code that reads the camera's."""

from PIL import Image
from playwright.sync_api import Page, Route

from tests.browser.scanning.pictures import png

READ = """async (addresses) => {
    const { readImage, startReader } = await import("/static/js/scanning/reader.js");
    const { TURNS, pictureOf } = await import("/static/js/scanning/picture.js");
    await startReader("/static/zxing/reader/zxing_reader.wasm");
    const canvas = document.createElement("canvas");
    const texts = [];
    for (const address of addresses) {
        const image = await createImageBitmap(await (await fetch(address)).blob());
        let code = null;
        for (const turn of TURNS) {
            code ??= await readImage(pictureOf(image, image.width, image.height, turn, canvas));
        }
        texts.push(code && (code.several ? "several" : code.text));
    }
    return texts;
}"""


def read_pictures(page: Page, pictures: list[Image.Image]) -> list[str | None]:
    """
    What is read in each picture, as a scanner would send it; None where nothing is found.

    The pictures are turned as the camera's are. All are read in one go.
    """
    files = {f"/pictures/{place}.png": picture for place, picture in enumerate(pictures)}

    def answer(route: Route) -> None:
        name = "/pictures/" + route.request.url.rpartition("/")[2]
        route.fulfill(body=png(files[name]), content_type="image/png")

    page.route("**/pictures/*.png", answer)
    try:
        return page.evaluate(READ, list(files))
    finally:
        page.unroute("**/pictures/*.png")
