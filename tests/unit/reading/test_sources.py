"""Whom or what a statement rests on: persons, papers, or the seller alone."""

from __future__ import annotations

import pytest

from valuation.reading.statements import read_statements

PERSONS = """
According to the last owner the engine is original.
Per the last owner, engine original.
The engine is original, per the club registrar.
The engine is original, says the registrar.
The engine is original, the registrar says.
The registrar tells us that the engine is original.
The previous owner assured me the engine is original.
The previous keeper always maintained that the engine was original.
The restorer vouches for the engine as original.
The engine is vouched for as original by the registrar.
In the view of the registrar the engine is original.
In the words of the registrar, the engine is original.
In the opinion of the marque historian the engine is original.
The registrar is satisfied that the engine is original.
The registrar is certain the engine is original.
The registrar pronounced the engine original.
The registrar declared the engine original.
The registrar considers the engine original.
The registrar regards the engine as original.
The registrar lists the engine as original.
The register lists the engine as original.
The club has the engine down as original.
The engine is down in the register as original.
The engine has been declared original by the registrar.
The engine was certified original by the registrar.
The engine was inspected by the registrar and found original.
An inspector found the engine to be original.
An independent inspector, Kaspar Thorne, found the engine original.
My mechanic says the engine is original.
My mechanic, who knows these, says the engine is original.
A man from the club said the engine is original.
The man I bought it from said the engine is original.
The bloke I bought it off swore the engine was original.
The lady who sold it to me said that the engine is original.
Dr Fennimore told me the engine is original.
Mrs Vane says the engine is original.
Geoff says the engine is original.
Geoff reckons the engine is original.
Word from the registrar is that the engine is original.
On the word of the last owner, the engine is original.
We have it on the authority of the registrar that the engine is original.
The registrar's opinion is that the engine is original.
Registrar: engine original.
Engine original, owner states.
Engine original, according to my father.
My father always said the engine was original.
His widow tells me the engine is original.
Her son insists the engine is original.
The family say the engine is original.
The heirs state that the engine is original.
The vendor's mechanic reports that the engine is original.
A specialist confirmed that the engine is original.
Confirmed by a specialist as having its original engine.
A marque expert has confirmed the original engine.
The engine is original, or so the last owner says.
I am told by the registrar that the engine is original.
I have been told by the previous owner that the engine is original.
We are informed by the registrar that the engine is original.
The engine is, the registrar informs us, original.
They say at the club that the engine is original.
""".strip().splitlines()

PAPERS = """
The build record confirms that the engine is original.
As the build record confirms, the engine is original.
The engine is original, as the build record confirms.
The engine is original, the build record says.
The engine is original, according to the build record.
The engine is original per the build record.
According to its log book the engine is original.
The engine is original on the evidence of the build record.
On the strength of a letter from the works, the engine is original.
As evidenced by the build record, the engine is original.
The engine is original, as evidenced by the build record.
The engine is documented as original by the build record.
The engine is original, which the build record bears out.
The engine is original, and the build record bears this out.
The engine is original, a fact confirmed by the build record.
The engine is original, a claim supported by a letter from the works.
The engine is original, certificate to prove it.
The engine is original and I have the certificate to prove it.
The engine is original (certificate on file).
The engine is original (see certificate).
The engine is original with certificate.
A certificate on file states that the engine is original.
A certificate from the works attests to the original engine.
A letter of 1974 records that the engine is original.
An entry in the log book shows that the engine is original.
A plate on the block says that the engine is original.
A tag wired to the block says the engine is original.
The stamping on the block shows the engine is original.
Its stamping shows the engine to be original.
Photographs show the original engine.
The inspection report calls the engine original.
The inspector's written report says the engine is original.
The paperwork describes the engine as original.
The papers prove the engine original.
The engine is original, and there's paperwork to back it up.
The engine is original and the papers agree.
Going by the build record, the engine is original.
Judging from the build record the engine is original.
It says in the log book that the engine is original.
The engine is original, it says so in the log book.
The engine is original, so the certificate says.
I have a letter from the works saying the engine is original.
With it comes a certificate saying the engine is original.
""".strip().splitlines()

SELLER = """
I say the engine is original.
We can confirm that the engine is original.
I can tell you the engine is original.
I promise you the engine is original.
I swear the engine is original.
I can vouch for the original engine.
I know the engine is original.
I am certain that the engine is original.
There is no doubt that the engine is original.
Without doubt the engine is original.
Make no mistake, the engine is original.
Believe me, the engine is original.
The engine is original, you can see that.
The engine is most certainly original.
I guarantee that the engine is original.
The engine is original, guaranteed.
The engine is as original as they come.
You will find the engine original.
You'll see the engine is original.
We are pleased to say the engine is original.
Importantly, the engine is original.
The engine is original and I have owned it for years.
""".strip().splitlines()


def strengths(text: str) -> set[str]:
    return {s.strength for s in read_statements(text) if s.key == "originality: engine"}


@pytest.mark.parametrize("text", PERSONS)
def test_somebody_else_says_so(text: str) -> None:
    assert strengths(text) == {"third-party"}


@pytest.mark.parametrize("text", PAPERS)
def test_a_paper_says_so(text: str) -> None:
    assert strengths(text) == {"documented"}


@pytest.mark.parametrize("text", SELLER)
def test_the_seller_says_so(text: str) -> None:
    assert strengths(text) == {"claimed"}
