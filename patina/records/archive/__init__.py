"""Archive bundles: records as one file that needs no program, and such a file taken in again.

``shape`` says what the tables look like, ``choosing`` which rows belong to a piece, a recipe or a
studio, ``cells`` how values are written, ``papers`` what explains them, ``writing`` the bag itself;
``opening`` reads a file that nobody vouches for, ``taking`` puts it into a studio.
"""
