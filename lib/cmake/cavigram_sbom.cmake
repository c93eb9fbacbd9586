# Run while the program is installed: the bill of materials of what is in it and what it links, as SPDX 2.3 (the standard's JSON form), from the facts of
# the machine that built it: what its loader finds, which headers its compiler read, and which of Debian's packages these files are of.
#   CAVIGRAM_SBOM_PROGRAM  the installed program          CAVIGRAM_SBOM_OUT   the file to write
#   CAVIGRAM_SBOM_BUILD    the build folder (Ninja's)     CAVIGRAM_SBOM_PAGE  the folder whose package-lock.json names what is in the pages
#   CAVIGRAM_SBOM_VERSION
find_program(dpkg_program dpkg)
find_program(ninja_program ninja)
if(NOT dpkg_program OR NOT ninja_program OR NOT EXISTS "${CAVIGRAM_SBOM_BUILD}/build.ninja")
  message(STATUS "No bill of materials: it is made of what dpkg and Ninja know, and one of them is not here.")
  return()
endif()

set(packages "")
set(relations "")

function(json_text OUT TEXT)
  string(REPLACE "\\" "\\\\" TEXT "${TEXT}")
  string(REPLACE "\"" "\\\"" TEXT "${TEXT}")
  set(${OUT} "\"${TEXT}\"" PARENT_SCOPE)
endfunction()

# Adds a package, what it is to the program, and why it is listed.
macro(add_package ID NAME VERSION SUPPLIER LICENSE PURL RELATION WHY)
  json_text(name "${NAME}")
  json_text(version "${VERSION}")
  json_text(why "${WHY}")
  string(APPEND packages ",\n    {\"SPDXID\": \"SPDXRef-${ID}\", \"name\": ${name}, \"versionInfo\": ${version}, \"supplier\": \"${SUPPLIER}\", "
         "\"downloadLocation\": \"NOASSERTION\", \"filesAnalyzed\": false, \"licenseConcluded\": \"NOASSERTION\", \"licenseDeclared\": \"${LICENSE}\", "
         "\"copyrightText\": \"NOASSERTION\", \"comment\": ${why}, "
         "\"externalRefs\": [{\"referenceCategory\": \"PACKAGE-MANAGER\", \"referenceType\": \"purl\", \"referenceLocator\": \"${PURL}\"}]}")
  if("${RELATION}" STREQUAL "RUNTIME_DEPENDENCY_OF")
    string(APPEND relations ",\n    {\"spdxElementId\": \"SPDXRef-${ID}\", \"relationshipType\": \"${RELATION}\", \"relatedSpdxElement\": \"SPDXRef-cavigram\"}")
  else()
    string(APPEND relations ",\n    {\"spdxElementId\": \"SPDXRef-cavigram\", \"relationshipType\": \"${RELATION}\", \"relatedSpdxElement\": \"SPDXRef-${ID}\"}")
  endif()
endmacro()

# Debian's packages that files are of, sorted: `libfmt9:amd64`. In Debian 12 /lib leads to /usr/lib, and a package may name either.
function(packages_of OUT)
  set(asked "")
  foreach(file IN LISTS ARGN)
    string(REGEX REPLACE "^/usr/lib/" "/lib/" short "${file}")
    string(REGEX REPLACE "^/lib/" "/usr/lib/" long "${file}")
    list(APPEND asked "${short}" "${long}")
  endforeach()
  list(REMOVE_DUPLICATES asked)
  # One that no package knows is no failure of the others.
  execute_process(COMMAND dpkg -S ${asked} OUTPUT_VARIABLE told ERROR_QUIET)
  string(REGEX MATCHALL "[^\n]+" told "${told}")
  set(found "")
  foreach(line IN LISTS told)
    if(line MATCHES "^([a-z0-9+.:-]+): /")
      list(APPEND found "${CMAKE_MATCH_1}")
    endif()
  endforeach()
  list(REMOVE_DUPLICATES found)
  list(SORT found)
  set(${OUT} "${found}" PARENT_SCOPE)
endfunction()

macro(add_debian PACKAGE RELATION WHY)
  execute_process(COMMAND dpkg-query -W -f "\${Package};\${Version};\${Architecture}" "${PACKAGE}" OUTPUT_VARIABLE about COMMAND_ERROR_IS_FATAL ANY)
  list(GET about 0 debian_name)
  list(GET about 1 debian_version)
  list(GET about 2 debian_architecture)
  # As package URLs are escaped.
  string(REPLACE ":" "%3A" escaped "${debian_version}")
  string(REPLACE "+" "%2B" escaped "${escaped}")
  string(REPLACE "+" "%2B" escaped_name "${debian_name}")
  string(REPLACE "+" "-" id "${debian_name}")
  add_package("${id}" "${debian_name}" "${debian_version}" "Organization: Debian" NOASSERTION
              "pkg:deb/debian/${escaped_name}@${escaped}?arch=${debian_architecture}" "${RELATION}" "${WHY}")
endmacro()

# ---- what is linked: by the program itself, and by what it links -----------------------------------
execute_process(COMMAND ldd "${CAVIGRAM_SBOM_PROGRAM}" OUTPUT_VARIABLE loaded COMMAND_ERROR_IS_FATAL ANY)
execute_process(COMMAND readelf -d "${CAVIGRAM_SBOM_PROGRAM}" OUTPUT_VARIABLE dynamic COMMAND_ERROR_IS_FATAL ANY)
string(REGEX MATCHALL "[^\n]+" loaded "${loaded}")
set(direct "")
set(all "")
foreach(line IN LISTS loaded)
  if(line MATCHES "(/[^ ]+/([^ /]+)) \\(")
    list(APPEND all "${CMAKE_MATCH_1}")
    string(FIND "${dynamic}" "[${CMAKE_MATCH_2}]" needed)
    if(NOT needed EQUAL -1)
      list(APPEND direct "${CMAKE_MATCH_1}")
    endif()
  endif()
endforeach()
packages_of(linked ${direct})
packages_of(reached ${all})
list(REMOVE_ITEM reached ${linked})
foreach(package IN LISTS linked)
  add_debian("${package}" DYNAMIC_LINK "The program links a library of this package.")
endforeach()
foreach(package IN LISTS reached)
  add_debian("${package}" RUNTIME_DEPENDENCY_OF "A library that the program links needs a library of this package.")
endforeach()

# ---- what was compiled in: headers that the compiler read for the program's own objects -------------
# Half a million lines, which CMake's own lists would take many minutes for.
execute_process(COMMAND "${ninja_program}" -C "${CAVIGRAM_SBOM_BUILD}" -t deps
                COMMAND awk "/^[^ ].*: #deps/ { ours = /^(lib|tools\\/cavigram|tools\\/serve|tools\\/pour_sheet)\\// } ours && /^ +\\/usr\\// { print $1 }"
                COMMAND sort -u
                OUTPUT_VARIABLE headers COMMAND_ERROR_IS_FATAL ANY)
string(REGEX MATCHALL "[^\n]+" headers "${headers}")
packages_of(compiled ${headers})
foreach(package IN LISTS compiled)
  add_debian("${package}" STATIC_LINK "The compiler read headers of this package: what they define is in the program, and for those without a library that is all.")
endforeach()

# ---- what is in the pages: the bundler itself is not ------------------------------------------------
file(READ "${CAVIGRAM_SBOM_PAGE}/package.json" wanted)
file(READ "${CAVIGRAM_SBOM_PAGE}/package-lock.json" lock)
string(JSON wanted GET "${wanted}" dependencies)
string(JSON count LENGTH "${wanted}")
math(EXPR last "${count} - 1")
foreach(i RANGE ${last})
  string(JSON page_package MEMBER "${wanted}" ${i})
  if(NOT page_package STREQUAL "esbuild")
    string(JSON page_version GET "${lock}" packages "node_modules/${page_package}" version)
    string(JSON page_license GET "${lock}" packages "node_modules/${page_package}" license)
    add_package("npm-${page_package}" "${page_package}" "${page_version}" NOASSERTION "${page_license}" "pkg:npm/${page_package}@${page_version}" CONTAINS
                "Bundled into the pages that the program holds.")
  endif()
endforeach()

# Of the content, so that two builds of the same give the same.
string(UUID id NAMESPACE 6ba7b811-9dad-11d1-80b4-00c04fd430c8 NAME "${packages}${relations}" TYPE SHA1)
string(TIMESTAMP created "%Y-%m-%dT%H:%M:%SZ" UTC)  # SOURCE_DATE_EPOCH, where it is set
file(WRITE "${CAVIGRAM_SBOM_OUT}" "{
  \"spdxVersion\": \"SPDX-2.3\",
  \"dataLicense\": \"CC0-1.0\",
  \"SPDXID\": \"SPDXRef-DOCUMENT\",
  \"name\": \"cavigram-${CAVIGRAM_SBOM_VERSION}\",
  \"documentNamespace\": \"https://cavigram.invalid/spdx/cavigram-${CAVIGRAM_SBOM_VERSION}-${id}\",
  \"creationInfo\": {\"created\": \"${created}\", \"creators\": [\"Organization: the makers of cavigram\", \"Tool: cavigram_sbom.cmake-${CAVIGRAM_SBOM_VERSION}\"]},
  \"packages\": [
    {\"SPDXID\": \"SPDXRef-cavigram\", \"name\": \"cavigram\", \"versionInfo\": \"${CAVIGRAM_SBOM_VERSION}\", \"supplier\": \"Organization: the makers of cavigram\", \"downloadLocation\": \"NOASSERTION\", \"filesAnalyzed\": false, \"licenseConcluded\": \"GPL-3.0-or-later\", \"licenseDeclared\": \"GPL-3.0-or-later\", \"copyrightText\": \"2026, the makers of cavigram\", \"primaryPackagePurpose\": \"APPLICATION\"}${packages}
  ],
  \"relationships\": [
    {\"spdxElementId\": \"SPDXRef-DOCUMENT\", \"relationshipType\": \"DESCRIBES\", \"relatedSpdxElement\": \"SPDXRef-cavigram\"}${relations}
  ]
}
")
