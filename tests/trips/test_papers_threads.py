"""Two people ask for their papers at the same time, in two threads of one server."""

from concurrent.futures import ThreadPoolExecutor

from pypdf import PdfReader

from trips.services.pdf import html_pdf

PAGE = "<html lang='en'><head><title>{0}</title></head><body><h1>{0}</h1>{1}</body></html>"


def test_papers_printed_at_the_same_time_keep_their_own_words(tmp_path):
    pages = [PAGE.format(f"Paper {n}", f"<p>word{n} </p>" * 60) for n in range(8)]
    with ThreadPoolExecutor(4) as pool:
        printed = list(pool.map(lambda page: html_pdf(page, {}), pages))
    for number, pdf in enumerate(printed):
        file = tmp_path / f"{number}.pdf"
        file.write_bytes(pdf)
        text = "".join(page.extract_text() for page in PdfReader(file).pages)
        assert text.count(f"word{number}") == 60
        assert f"word{(number + 1) % 8}" not in text
