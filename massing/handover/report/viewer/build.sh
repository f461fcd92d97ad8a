#!/bin/sh
# Bundles source/ and three.js into viewer.js, which is kept under version control so that nobody
# who installs or uses the package needs Node. For those who change the view:
#
#   npm install --prefix SOMEWHERE three@0.187.0 esbuild@0.28.2
#   NODE_MODULES=SOMEWHERE/node_modules massing/handover/report/viewer/build.sh
#
# three.js is under the MIT licence; its notice stays at the end of viewer.js. With OUT set the
# bundle goes there instead, which is how the tests compare it with the kept one.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
: "${NODE_MODULES:?set it to the node_modules folder that holds three and esbuild}"
NODE_PATH="$NODE_MODULES" "$NODE_MODULES/.bin/esbuild" "$here/source/main.js" \
  --bundle --minify --format=iife --target=es2021 --charset=ascii --legal-comments=eof \
  --log-level=warning --outfile="${OUT:-$here/viewer.js}"
