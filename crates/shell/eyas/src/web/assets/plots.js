// Synchronised plots of a recording. Filled in by the page of recordings.
"use strict";
