<?xml version="1.0" encoding="UTF-8"?>
<!-- SPDX-License-Identifier: Apache-2.0 -->
<!-- Sand (little water) to deep blue (much): lightness falls all the way, so it prints in grey. Stops
     are shares, 0 to 1, of the range of a map; each result carries its own copy in L/h. -->
<sld:StyledLayerDescriptor version="1.1.0" xmlns:sld="http://www.opengis.net/sld"
    xmlns:se="http://www.opengis.net/se" xmlns:ogc="http://www.opengis.net/ogc">
  <sld:NamedLayer>
    <se:Name>discharge</se:Name>
    <sld:UserStyle>
      <se:Description><se:Title>Discharge</se:Title></se:Description>
      <se:FeatureTypeStyle>
        <se:Rule>
          <se:RasterSymbolizer>
            <se:ColorMap>
              <se:Interpolate fallbackValue="#ffffff">
                <se:LookupValue>Rasterdata</se:LookupValue>
                <se:InterpolationPoint><se:Data>0.000</se:Data><se:Value>#ffe3af</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.125</se:Data><se:Value>#efcd9c</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.250</se:Data><se:Value>#dcb688</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.375</se:Data><se:Value>#a5aa97</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.500</se:Data><se:Value>#699ca2</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.625</se:Data><se:Value>#4c869f</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.750</se:Data><se:Value>#2c6f9a</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.875</se:Data><se:Value>#215489</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>1.000</se:Data><se:Value>#193978</se:Value></se:InterpolationPoint>
              </se:Interpolate>
            </se:ColorMap>
          </se:RasterSymbolizer>
        </se:Rule>
      </se:FeatureTypeStyle>
    </sld:UserStyle>
  </sld:NamedLayer>
</sld:StyledLayerDescriptor>
