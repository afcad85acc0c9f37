"""The ways of English to say a thing with doubt: each is heard."""

from __future__ import annotations

import pytest

from valuation.reading.statements import read_statements

# Each doubts one and the same thing.
REPAINTED = """
It may have been repainted.
It might well have been repainted once.
It could have been repainted.
It must have been repainted at some point.
It would appear to have been repainted.
It would seem that it was repainted.
It looks to have been repainted.
It looks as though it has been repainted.
It seems to have been repainted.
It appears that the car was repainted.
We suspect it was repainted.
We surmise that it has been repainted.
One assumes it was repainted.
I daresay it has been repainted.
I dare say it was repainted.
My guess is that it was repainted.
My hunch is it was repainted.
I have a feeling it's been repainted.
I have a hunch it has been repainted.
I wouldn't be surprised if it had been repainted.
It would not surprise us if it had been repainted.
I shouldn't wonder if it had been repainted.
We cannot vouch for it, but it is said it was repainted.
There is a chance it was repainted.
There's every chance it has been repainted.
There is some suggestion that it was repainted.
There are signs that it may have been repainted.
There is a possibility that the car has been repainted.
There is reason to think it was repainted.
There's talk of it having been repainted.
Chances are it has been repainted.
Odds are it was repainted.
Word has it that it was repainted.
The story is that it was repainted.
The story goes that it was repainted.
Local lore says it was repainted.
Rumour has it that it was repainted.
It is rumoured to have been repainted.
It is reputed to have been repainted.
It is alleged to have been repainted.
It is claimed to have been repainted.
It is purported to have been repainted.
It is presumed to have been repainted.
It is supposed to have been repainted.
It is understood to have been repainted.
It is held to have been repainted.
It is reported to have been repainted.
It is conceivable that it was repainted.
It is possible that it was repainted.
It is probable that it was repainted.
It is likely that it was repainted.
It is not known whether it was repainted.
It is not clear whether it has been repainted.
It is unclear if it was repainted.
It is uncertain whether it was repainted.
It remains to be established whether it was repainted.
Nobody knows whether it was repainted.
No one can say whether it was repainted.
No one is sure if it was repainted.
Nobody could tell me if it was repainted.
I don't know if it was repainted.
I do not know whether it has been repainted.
I have no idea whether it was repainted.
I've no way of knowing if it was repainted.
We have no means of telling whether it was repainted.
Opinions differ as to whether it was repainted.
Opinion is divided on whether it was repainted.
We make no claim as to whether it was repainted.
Whether it was repainted is not recorded.
Whether it has been repainted we cannot say.
Whether or not it was repainted is unknown.
If it has been repainted, nobody remembers.
As far as I can tell it was repainted.
As far as anyone knows it was repainted.
As near as I can tell, it was repainted.
From what I gather it was repainted.
From what I've been told it was repainted.
From what we understand, it has been repainted.
By the look of it, it has been repainted.
By all appearances it was repainted.
To all appearances it was repainted.
To the best of our belief it was repainted.
To the best of my recollection it was repainted.
To my knowledge it was repainted.
For all I know it has been repainted.
For all we know, it was repainted.
If I remember rightly, it was repainted.
If memory serves, it was repainted.
Unless I'm mistaken it was repainted.
I stand to be corrected, but it was repainted.
Don't quote me, but it was repainted.
Don't hold me to it, but it was repainted.
Conceivably repainted.
Quite possibly repainted.
Very likely repainted.
Perhaps repainted.
Maybe repainted.
Repainted, or so I am told.
Repainted, so they say.
Repainted, we think.
Repainted, allegedly.
Repainted at some point, I should think.
Repainted, I would guess.
Repainted in all probability.
Repainted (unconfirmed).
Repainted (?).
Repainted??
Repainted, tbc.
Repainted, if the story is true.
Repainted, though this cannot be proved.
Repainted, though we have no proof.
Repainted, although nobody can confirm it.
Repainted, but I can't be certain.
Repainted, but don't quote me.
Repainted, but I may be wrong.
It was repainted, if I'm not mistaken.
It was repainted, if the seller is to be believed.
It was repainted, we are led to believe.
It was repainted, one supposes.
Supposedly repainted.
Ostensibly repainted.
Arguably repainted.
It is thought it was repainted.
It's believed that it was repainted.
Thought to have been repainted.
Understood to have been repainted.
Suspected to have been repainted.
Apparently it was repainted.
The vendor believes it was repainted.
The vendor is of the opinion that it was repainted.
The owner suspects it was repainted.
He thinks it was repainted.
She seemed to think it was repainted.
Somebody thought it had been repainted.
In my opinion it was repainted.
In our view the car has been repainted.
I'm inclined to believe it was repainted.
I'm fairly certain it was repainted.
I'm almost sure it was repainted.
We are not certain that it was repainted.
We have been given to understand that it was repainted.
We have reason to believe that it was repainted.
We have it on hearsay that it was repainted.
I heard it was repainted.
I've heard that it was repainted.
Hearsay has it repainted.
It is anyone's guess whether it was repainted.
Could well be repainted.
Might be repainted.
There may have been a repaint.
A repaint is suspected.
A repaint is likely.
A repaint seems probable.
A repaint cannot be ruled out.
A repaint cannot be excluded.
We cannot rule out that it was repainted.
We would not rule out a repaint.
We cannot exclude a repaint.
""".strip().splitlines()


@pytest.mark.parametrize("text", REPAINTED)
def test_a_doubt_is_heard(text: str) -> None:
    said = {s.text for s in read_statements(text) if s.topic == "restoration"}
    assert said == {"perhaps restoration: repainted"}
