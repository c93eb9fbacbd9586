# `cpack` in a build folder makes a Debian package of the program; what it depends on is read from the program's own libraries.
set(package_folder "${PROJECT_BINARY_DIR}/package")
# The day of the changelog's newest entry, in seconds since 1970: 2026-01-01. The package's files and bill of materials bear it, not the day on which
# they were made, so that anyone's two packages of one source are the same bytes; SOURCE_DATE_EPOCH in the environment goes before.
set(package_epoch 1767225600)
file(WRITE "${package_folder}/copyright"
"Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/
Upstream-Name: cavigram

Files: *
Copyright: 2026, the makers of cavigram
License: GPL-3.0-or-later
 On Debian systems the whole text of the GNU General Public License, version 3,
 stands in /usr/share/common-licenses/GPL-3.
")
execute_process(COMMAND "${CMAKE_COMMAND}" -E env LC_ALL=C date -u -R -d "@${package_epoch}"
                OUTPUT_VARIABLE package_date OUTPUT_STRIP_TRAILING_WHITESPACE COMMAND_ERROR_IS_FATAL ANY)
file(WRITE "${package_folder}/changelog"
"cavigram (${PROJECT_VERSION}) unstable; urgency=medium

  * See docs/changelog.md of the source.

 -- the makers of cavigram <makers@cavigram.invalid>  ${package_date}
")
find_program(GZIP_PROGRAM gzip REQUIRED)
foreach(made changelog cavigram.1)
  set(from "${package_folder}/changelog")
  if(made STREQUAL "cavigram.1")
    set(from "${PROJECT_BINARY_DIR}/tools/cavigram/shell/cavigram.1")
  endif()
  add_custom_command(OUTPUT "${package_folder}/${made}.gz"
    COMMAND "${GZIP_PROGRAM}" -9nc "${from}" > "${package_folder}/${made}.gz"
    DEPENDS "${from}")
endforeach()
add_custom_target(cavigram_package_files ALL DEPENDS "${package_folder}/changelog.gz" "${package_folder}/cavigram.1.gz")
install(FILES "${package_folder}/copyright" "${package_folder}/changelog.gz" DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/cavigram COMPONENT program)
install(FILES "${package_folder}/cavigram.1.gz" DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 COMPONENT program)

# The bill of materials, made of the installed program while it is installed.
install(CODE "
  set(CAVIGRAM_SBOM_PROGRAM \"\$ENV{DESTDIR}\${CMAKE_INSTALL_PREFIX}/${CMAKE_INSTALL_BINDIR}/cavigram\")
  set(CAVIGRAM_SBOM_OUT \"\$ENV{DESTDIR}\${CMAKE_INSTALL_PREFIX}/${CMAKE_INSTALL_DATADIR}/doc/cavigram/cavigram.spdx.json\")
  set(CAVIGRAM_SBOM_BUILD \"${PROJECT_BINARY_DIR}\")
  set(CAVIGRAM_SBOM_PAGE \"${PROJECT_SOURCE_DIR}/tools/pour_sheet\")
  set(CAVIGRAM_SBOM_VERSION \"${PROJECT_VERSION}\")
  include(\"${PROJECT_SOURCE_DIR}/lib/cmake/cavigram_sbom.cmake\")
" COMPONENT program)

# Read by cpack when it runs, as the environment of the configuring run is gone by then.
file(WRITE "${package_folder}/epoch.cmake" "if(NOT DEFINED ENV{SOURCE_DATE_EPOCH})\n  set(ENV{SOURCE_DATE_EPOCH} ${package_epoch})\nendif()\n")
set(CPACK_PROJECT_CONFIG_FILE "${package_folder}/epoch.cmake")
set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME cavigram)
set(CPACK_PACKAGE_VENDOR "the makers of cavigram")
set(CPACK_PACKAGE_CONTACT "the makers of cavigram <makers@cavigram.invalid>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "pour plans for foam parts cast in molds")
set(CPACK_DEBIAN_PACKAGE_DESCRIPTION
"From the mesh of a part: whether the file is sound, what the part weighs, the
 grams of both components, which way up to pour, where vents go, how to build
 and strap the mold, and a sheet to print.")
set(CPACK_DEBIAN_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
# Only the program, and its Python module: who builds against the library builds it.
set(CPACK_COMPONENTS_ALL program)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_NAME cavigram)
if(CAVIGRAM_PYTHON)
  include(cavigram_python_package)
endif()
include(CPack)
