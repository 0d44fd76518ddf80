"""The workbench: a server on this machine that gives the answers of the commands to a browser.

``guard`` decides who may ask, ``limits`` how much, ``child`` runs what reads other people's files in
processes of their own, ``rooms`` is what those processes do, ``jobs`` keeps long work, ``store`` keeps
uploads and drafts, ``api`` is the interface, one file a room. It holds no physics of its own.
"""
