<?xml version="1.0" encoding="UTF-8"?>
<!-- SPDX-License-Identifier: Apache-2.0 -->
<!-- Standard error of relative discharge, in shares of its reference. Pale (well known) to
     violet (little known): one hue, lightness falls all the way, so it prints in grey. Stops are
     shares, 0 to 1, of the range of a map; each result carries its own copy. -->
<sld:StyledLayerDescriptor version="1.1.0" xmlns:sld="http://www.opengis.net/sld"
    xmlns:se="http://www.opengis.net/se" xmlns:ogc="http://www.opengis.net/ogc">
  <sld:NamedLayer>
    <se:Name>relative_discharge_error</se:Name>
    <sld:UserStyle>
      <se:Description><se:Title>Standard error of relative discharge</se:Title></se:Description>
      <se:FeatureTypeStyle>
        <se:Rule>
          <se:RasterSymbolizer>
            <se:ColorMap>
              <se:Interpolate fallbackValue="#ffffff">
                <se:LookupValue>Rasterdata</se:LookupValue>
                <se:InterpolationPoint><se:Data>0.00</se:Data><se:Value>#f8f2f6</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.25</se:Data><se:Value>#d4c4df</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.50</se:Data><se:Value>#b096c8</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.75</se:Data><se:Value>#8062a2</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>1.00</se:Data><se:Value>#512f7b</se:Value></se:InterpolationPoint>
              </se:Interpolate>
            </se:ColorMap>
          </se:RasterSymbolizer>
        </se:Rule>
      </se:FeatureTypeStyle>
    </sld:UserStyle>
  </sld:NamedLayer>
</sld:StyledLayerDescriptor>
