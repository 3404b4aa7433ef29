#!/bin/sh
# Makes the WOFF2 subsets for pages out of the TTF files beside this script, whose digits are tabular already:
#   pip install fonttools==4.60.1 brotli==1.1.0 && sh make_latin.sh
cd "$(dirname "$0")" || exit 1
for weight in Regular SemiBold; do
    pyftsubset "Inter-$weight.ttf" --flavor=woff2 --no-hinting --name-IDs='*' \
        --layout-features=kern,mark,mkmk,locl,ccmp \
        --unicodes=U+0020-007E,U+00A0-00FF,U+0100-017F,U+2010-2015,U+2018-201E,U+2020-2022,U+2026,U+2030,U+2032-2033,U+2082,U+20AC,U+2190-2193,U+2212,U+221E,U+2248,U+2260,U+2264-2265,U+25B3,U+25BD,U+25CB \
        --output-file="Inter-$weight-latin.woff2"
done
