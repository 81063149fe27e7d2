"""profilegen: lifters' histories in, a static site of strength profiles out.

The whole program is one straight line of frozen values::

    file -> Athlete -> Posterior -> Profile -> Page -> HTML

See DEVELOPERS.md for the pipeline on one screen.
"""

__version__ = "0.1.0"
