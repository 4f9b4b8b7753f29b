<?xml version="1.0" encoding="UTF-8"?>
<!-- SPDX-License-Identifier: Apache-2.0 -->
<!-- Straw (low pressure) through green to deep violet (high): lightness falls all the way, so it
     prints in grey, and blue rises against yellow, so it is told by colour-blind eyes. Stops are shares, 0
     to 1, of the range of a map; each result carries its own copy in kPa. -->
<sld:StyledLayerDescriptor version="1.1.0" xmlns:sld="http://www.opengis.net/sld"
    xmlns:se="http://www.opengis.net/se" xmlns:ogc="http://www.opengis.net/ogc">
  <sld:NamedLayer>
    <se:Name>pressure</se:Name>
    <sld:UserStyle>
      <se:Description><se:Title>Pressure</se:Title></se:Description>
      <se:FeatureTypeStyle>
        <se:Rule>
          <se:RasterSymbolizer>
            <se:ColorMap>
              <se:Interpolate fallbackValue="#ffffff">
                <se:LookupValue>Rasterdata</se:LookupValue>
                <se:InterpolationPoint><se:Data>0.000</se:Data><se:Value>#f5edc0</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.125</se:Data><se:Value>#dadea8</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.250</se:Data><se:Value>#bfd08f</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.375</se:Data><se:Value>#94ba8a</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.500</se:Data><se:Value>#6aa384</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.625</se:Data><se:Value>#548986</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.750</se:Data><se:Value>#3f6f87</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.875</se:Data><se:Value>#415079</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>1.000</se:Data><se:Value>#43306b</se:Value></se:InterpolationPoint>
              </se:Interpolate>
            </se:ColorMap>
          </se:RasterSymbolizer>
        </se:Rule>
      </se:FeatureTypeStyle>
    </sld:UserStyle>
  </sld:NamedLayer>
</sld:StyledLayerDescriptor>
