"""The workbench for a phone on the same network: addresses, a certificate of our own, a code to scan."""
