"""The station binder: sheets as plain records of words and figures, drawn by Typst.

``documents`` turns a manual into a document record (JSON), ``drawing`` draws a record, laid out on
pages by ``layout``. The record is all that the templates see: they choose type and place, and
compute nothing.

A document is ``{"title", "sheets": [...]}``. A sheet is a dictionary:

===========  =====================================================================================
kind         batch, process, cover, … ; only ``cover`` and ``batch`` are drawn with heads of their
own key          unique in the document, stable over time: ``station/id/kind[/size]`` number
the place in the binder as text; empty for one that has none title        its name; ``subtitle`` is
a list of words, the second in bold station      the station's name band         None, or {form:
reversed|outlined, word, words} strip        None, or {left, right}: the first line of every page
fields       a list of {phases, fields: [{label, share}]}: the boxes under the head of a page whose
             blocks are of those phases
blocks       a list of {form, …}; ``form`` is one of those in ``templates/binder.typ``; ``keep``
             binds it to the next block, ``phase`` begins a page where all don't fit on one,
             ``covers`` lists what the page's subtitle names
control      {status, revision, effective, approved, review, overdue, unraised, hash, as_of, id,
             governs}
qr           None, or {svg, address}
===========  =====================================================================================
"""
