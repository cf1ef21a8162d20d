"""Review a folder of recorded Charlestons, a text file each: what each cost, and what cost most.

python examples/review_folder.py FOLDER [URL]      without a URL a service is started for it and ended
"""

# %% What is needed.
import sys
from pathlib import Path

from threepass import Client, ProblemError
from threepass.answers import Review

folder, *url = sys.argv[1:]

# %% Ask for all of them. A record with faults is told, and left out.
reviews: dict[str, Review] = {}
with Client(url[0]) if url else Client.local() as client:
    for file in sorted(Path(folder).glob("*.txt")):
        try:
            for number, review in enumerate(client.reviews(text=file.read_text()).reviews, 1):
                reviews[f"{file.stem} {number}"] = review
        except ProblemError as error:
            for line in error.problem.lines:
                print(f"{file.name}: {line}")

# %% A line each, the best first, with the exchange that cost most.
for name, review in sorted(reviews.items(), key=lambda each: each[1].share):
    worst = max(review.passes, key=lambda each: each.given_up)
    print(f"{name}: {review.share:.1%} lost, most of it {worst.round}: {' '.join(worst.given)}")
    if not worst.within_resolution:
        print(f"  better: {' '.join(worst.best.passed)}")

# %% The mean of all.
if reviews:
    mean = sum(review.share for review in reviews.values()) / len(reviews)
    print(f"{len(reviews)} reviewed, {mean:.1%} lost on average")
